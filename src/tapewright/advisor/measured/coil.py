"""What a coil document (a recorded coil current) shows. Marks: common practice, no source."""

import statistics
from collections.abc import Callable, Mapping
from typing import Any

from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.measured.fields import Figure, beyond, figure, figure_of, tables

Document = Mapping[str, Any]
Rule = Callable[[str, Document], Answer | None]

#: A time constant of current rise from which on marks come late; spread of the landing.
SLOW_TAU_MS, LANDING_SPREAD_MS = 3.0, 0.7


def rises_slowly(finding: str, document: Document) -> Answer | None:
    """The time constant L/R of the whole circuit is long."""
    tau = figure(document, "tau_ms")
    if tau is None:
        inductance, resistance = figure(document, "inductance_h"), figure(document, "loop_resistance_ohm")
        resistance = resistance or figure(document, "resistance_ohm")
        if inductance is None or resistance is None or resistance.value <= 0:
            return None
        tau = Figure(1e3 * inductance.value / resistance.value, None, "ms")
    return beyond(finding, tau, SLOW_TAU_MS, f"current rises with a time constant of {tau}", above=True)


def did_not_move(finding: str, document: Document) -> Answer | None:
    """No landing in the recorded current."""
    moved = document.get("moved")
    if not isinstance(moved, bool):
        return None
    return no(finding, "the landing shows in the current") if moved else yes(finding, "no landing shows in the current")


def landing_varies(finding: str, document: Document) -> Answer | None:
    """Landing times differ from closure to closure."""
    found = [figure_of(c.get("landing_ms")) for c in tables(document, "closures")]
    times = [f.value for f in found if f is not None]
    if len(times) < 5:
        return None
    spread = statistics.stdev(times)
    seen = Figure(spread, max(spread / (2 * len(times)) ** 0.5, 0.05), "ms")
    return beyond(finding, seen, LANDING_SPREAD_MS, f"landing varies by {seen}", above=True)


RULES: dict[str, Rule] = {
    "current rises slowly": rises_slowly,
    "armature did not move": did_not_move,
    "landing varies": landing_varies,
}
