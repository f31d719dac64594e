"""What a speed document (strobe, tachometer, stopwatch, line) shows.

A speed that is off by an exact ratio: mains for mains, gears for gears.
"""

from collections.abc import Callable, Mapping
from typing import Any

from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.measured.fields import Figure, figure, tables, weighed

#: Ratios one meets: mains 50 and 60 Hz exchanged, gears for another speed.
RATIOS = {"6/5": 6 / 5, "5/6": 5 / 6, "50/45.45": 50 / 45.45, "45.45/50": 45.45 / 50, "3/2": 1.5, "2/3": 2 / 3,
          "75/45.45": 75 / 45.45, "45.45/75": 45.45 / 75, "2": 2.0, "1/2": 0.5}  # fmt: skip
RATIO_TOLERANCE_PERCENT, RATIO_FROM_PERCENT = 0.8, 4.0


def ratio_of(finding: str, error: Figure) -> Answer:
    """Return whether a speed error, per cent, is an exact ratio within its doubt."""
    ratio = 1.0 + error.value / 100.0
    near = {name: abs(ratio / r - 1.0) * 100.0 for name, r in RATIOS.items()}
    name = min(near, key=lambda each: near[each])
    tolerance = max(RATIO_TOLERANCE_PERCENT, 2.0 * (error.u or 0.0))
    how = f"speed error {error}"
    if abs(error.value) >= RATIO_FROM_PERCENT and near[name] <= tolerance:
        return yes(finding, f"{how}, which is {name}")
    return no(finding, how)


Document = Mapping[str, Any]
Rule = Callable[[str, Document], Answer | None]

#: How sure it is that the recording's clock is at fault when all other ways agree against it (common practice, no
#: source): the others could share a wrong tooth count.
CLOCK_AT_FAULT = 0.9
LINE = "line"


def off_by_a_ratio(finding: str, document: Document) -> Answer | None:
    """Speed off by an exact ratio."""
    error = figure(document, "error_percent")
    return None if error is None else ratio_of(finding, error)


def clock_disagrees(finding: str, document: Document) -> Answer | None:
    """The recorded line is the one way that disagrees with the others, which agree with each other."""
    ways = [str(way.get("way")) for way in tables(document, "ways")]
    if LINE not in ways or len(ways) < 2:
        return None
    if document.get("consistent") is True:
        return no(finding, f"the recorded line agrees with {', '.join(way for way in ways if way != LINE)}")
    if document.get("odd_one") == LINE:
        return weighed(finding, CLOCK_AT_FAULT, "the recorded line alone disagrees about the speed")
    return None


RULES: dict[str, Rule] = {"speed off by a ratio": off_by_a_ratio, "line alone disagrees": clock_disagrees}
