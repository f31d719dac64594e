"""What a speed document (strobe, tachometer, stopwatch, line) shows."""

from collections.abc import Callable, Mapping
from typing import Any

from tapewright.core.diagnosis.evidence import Answer, no
from tapewright.core.diagnosis.measured.fields import figure, tables
from tapewright.core.diagnosis.measured.ratio import ratio_of
from tapewright.core.diagnosis.measured.strength import weighed

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
