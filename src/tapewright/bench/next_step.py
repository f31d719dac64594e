"""The next step as a card: caution first, one sentence, minutes, what it needs, what each outcome would mean."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tapewright.advisor.document import Diagnosis
    from tapewright.advisor.machine_model import Model
    from tapewright.advisor.outcomes import AdvisedTest
    from tapewright.advisor.stop import Stop

#: risk of a test -> words
RISKS = {"none": "", "hand": "mind fingers and springs", "power": "under power", "loop": "mains or loop voltage near"}
#: how deep -> words
DEPTHS = {"none": "nothing has to come off", "covers": "covers off", "assembly": "a unit off", "strip": "strip down"}
#: what a finding is found with -> what lies ready for it
NEEDS = {
    "line": "a recording of the line", "tape": "a scan or photograph of the tape", "gauge": "the gauges of its sheet",
    "coil": "a recording of the coil's current", "characters": "what was sent and what came", "ear": "your ears",
    "comparison": "a line recording and a tape of one event", "eye": "a lamp and your eyes", "finger": "your fingers",
    "print": "what it printed", "trial": "the machine, to try it", "record": "its papers",
}  # fmt: skip
#: what can be dropped on the page
DROPPED = {"line", "tape", "coil"}
UNDER_POWER = ("power", "loop")


def next_step(found: "Diagnosis") -> dict[str, Any] | None:
    """Return the card: the remedy when enough is known, else the best test; None when nothing is left."""
    if found.stop is not None:
        return _remedy(found.stop)
    return test_card(found.model, found.next_tests[0]) if found.next_tests else None


def _remedy(stop: "Stop") -> dict[str, Any]:
    cause = stop.cause
    return {
        "kind": "remedy", "name": cause.name, "do": cause.do, "minutes": cause.minutes, "risk": "",
        "depth": DEPTHS[cause.depth], "needs": [], "cautions": list(cause.cautions),
        "must_be_read": bool(cause.cautions),
        "why": f"{cause.says} is believed {100 * stop.probability:.0f} %, and {stop.why}.",
        "findings": [], "outcomes": [], "drop": False,
    }  # fmt: skip


def test_card(model: "Model", test: "AdvisedTest") -> dict[str, Any]:
    """Return the card of a test."""
    shown = [model.findings[name] for name in model.shown_by(test.name)]
    ways = list(dict.fromkeys(finding.by for finding in shown))
    return {
        "kind": "test", "name": test.name, "do": test.do, "minutes": test.minutes, "risk": RISKS[test.risk],
        "depth": DEPTHS[test.depth], "needs": [NEEDS[by] for by in ways if by in NEEDS],
        "cautions": list(test.cautions),
        "must_be_read": test.risk in UNDER_POWER, "why": f"It {test.why}.", "findings": _findings(shown),
        "outcomes": [_outcome(outcome) for outcome in test.outcomes],
        "drop": bool(ways) and set(ways) <= DROPPED,
    }  # fmt: skip


def _findings(shown: list[Any]) -> list[dict[str, str]]:
    return [{"finding": f.name, "ask": f.ask, "says": f.says, "seen": f.seen} for f in shown]


def _outcome(outcome: Any) -> Mapping[str, Any]:
    then = {"says": outcome.then_says, "probability": outcome.then_probability} if outcome.then else None
    return {"says": outcome.says, "chance": outcome.chance, "then": then}
