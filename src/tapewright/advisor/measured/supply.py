"""What a supply document (voltages set, speeds read) shows: whether the speed follows the supply.

    what 10 per cent of supply does to the speed = 10 x slope of ln speed over ln volts

About 10 per cent for a series motor with little friction, nothing where a governor holds it. Only steps near the
wanted speed count: below it a governor has not cut in.
"""

import math
from collections.abc import Callable, Mapping
from typing import Any

from tapewright.advisor.evidence import Answer
from tapewright.advisor.measured.fields import Figure, beyond, figure_of, number, tables

Document = Mapping[str, Any]
Rule = Callable[[str, Document], Answer | None]

#: Per cent: how near to the wanted speed a step must be; the least change of voltage between two; what warming up
#: between two steps may do; the change of speed by 10 per cent of supply from which on it follows (common practice,
#: no source).
NEAR_PERCENT, LEAST_CHANGE, DRIFT_PERCENT, FOLLOWS_PERCENT = 15.0, 3.0, 0.3, 3.0


def speed_follows(finding: str, document: Document) -> Answer | None:
    """The speed follows the voltage."""
    steps = [(volts, error) for step in tables(document, "steps")
             if (volts := number(step.get("volts"))) and volts > 0
             and (error := figure_of(step.get("error_percent"))) and abs(error.value) <= NEAR_PERCENT]  # fmt: skip
    if len(steps) < 2:
        return None
    (low_v, slow), (high_v, fast) = min(steps, key=lambda s: s[0]), max(steps, key=lambda s: s[0])
    apart = math.log(high_v / low_v)
    if 100 * apart < LEAST_CHANGE:
        return None
    change = math.log((1 + fast.value / 100) / (1 + slow.value / 100))
    doubt = math.hypot(slow.u or DRIFT_PERCENT, fast.u or DRIFT_PERCENT, DRIFT_PERCENT) / 100
    seen = Figure(10 * change / apart, 10 * doubt / apart, "percent")
    return beyond(finding, seen, FOLLOWS_PERCENT, f"10 percent of supply moves the speed by {seen}", above=True)


RULES: dict[str, Rule] = {"speed follows the supply": speed_follows}
