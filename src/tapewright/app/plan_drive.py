"""Plan a magnet's drive: search resistor and suppressor where asked, compute what the drive will do."""

from dataclasses import dataclass, replace

from tapewright.core.magnet.choice import Searched, choose
from tapewright.core.magnet.plan import Plan, Request, plan
from tapewright.core.magnet.search import Wish


@dataclass(frozen=True, slots=True)
class SearchOrder:
    """What to search.

    Attributes:
        wish: what the drive should do.
        low_ohm: smallest resistor; 0 for a tenth of the coil's own.
        high_ohm: largest; None for what the wished current allows.
        count: how many resistors.
        open_choice: True when the user named no resistor, so that the best choice is the one to plan.
    """

    wish: Wish
    low_ohm: float
    high_ohm: float | None
    count: int
    open_choice: bool


def plan_drive(request: Request, order: SearchOrder | None = None) -> tuple[Plan, Searched | None]:
    """Give the plan of a drive, and the search when one was ordered."""
    if order is None:
        return plan(request), None
    searched = choose(request, order.wish, order.low_ohm, order.high_ohm, order.count)
    if order.open_choice and searched.choices:
        request = replace(request, drive=searched.choices[0].drive)
    return plan(request), searched
