"""The next step as a card, and what was done as lines of the book.

answer:FINDING = yes | no | can't say   -->  one observation; the test's gate goes on record with it
remedy = CAUSE, outcome = helped | no   -->  an adjustment; in vain: an observation says so too
cautions-read = yes                     -->  a line for each caution that was read and taken on
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from tapewright.bench.bench import Bench
from tapewright.bench.from_book import TAKEN_BACK
from tapewright.bench.workplace import body_of
from tapewright.book.entry import Entry, NewEntry
from tapewright.book.standing import HELPED
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.advisor.document import NextTest, Outcome, Stop
    from tapewright.advisor.machine_model import Finding, Model
    from tapewright.advisor.measure import FaultReport

#: risk of a test -> words
RISKS = {"none": "", "hand": "mind fingers and springs", "power": "under power", "loop": "mains or loop voltage near"}
#: how deep -> words
DEPTHS = {"none": "nothing has to come off", "covers": "covers off", "assembly": "a unit off", "strip": "strip down"}
#: what a finding is found with -> what lies ready for it
NEEDS = {
    "line": "a recording of the line",
    "tape": "a scan or photograph of the tape",
    "gauge": "the gauges of its sheet",
    "coil": "a recording of the coil's current",
    "characters": "what was sent and what came",
    "ear": "your ears",
    "comparison": "a line recording and a tape of one event",
    "eye": "a lamp and your eyes",
    "finger": "your fingers",
    "print": "what it printed",
    "trial": "the machine, to try it",
    "record": "its papers",
}
#: what can be dropped on the page
DROPPED = {"line", "tape", "coil"}
UNDER_POWER = ("power", "loop")


def next_step(standing: "FaultReport") -> dict[str, object] | None:
    """Return the card: the remedy when enough is known, else the best test; None when nothing is left."""
    found = standing.diagnosis
    if found.stop is not None:
        card = _remedy(standing.model, found.stop)
    elif found.next_tests:
        card = test_card(standing.model, found.next_tests[0])
    else:
        return None
    danger = [f"DANGER. {each.says}. {' '.join(each.do)}" for each in found.danger]
    own = card["cautions"] if isinstance(card["cautions"], list) else []
    return card | ({"cautions": [*danger, *own], "must_be_read": True} if danger else {})


def _remedy(model: "Model", stop: "Stop") -> dict[str, object]:
    cause = model.causes[stop.cause]
    return {
        "kind": "remedy",
        "name": cause.name,
        "do": cause.do,
        "minutes": cause.minutes,
        "risk": "",
        "depth": DEPTHS[cause.depth],
        "needs": [],
        "cautions": list(cause.cautions),
        "must_be_read": bool(cause.cautions),
        "why": f"{cause.says} is believed {100 * stop.probability:.0f} %, and {stop.why}.",
        "findings": [],
        "outcomes": [],
        "drop": False,
    }


def test_card(model: "Model", test: "NextTest") -> dict[str, object]:
    """Return the card of a test."""
    shown = [model.findings[name] for name in model.shown_by(test.test)]
    ways = list(dict.fromkeys(finding.by for finding in shown))
    return {
        "kind": "test",
        "name": test.test,
        "do": test.do,
        "minutes": test.minutes,
        "risk": RISKS[test.risk],
        "depth": DEPTHS[test.depth],
        "needs": [NEEDS[by] for by in ways if by in NEEDS],
        "cautions": list(test.cautions),
        "must_be_read": test.risk in UNDER_POWER,
        "why": f"It {test.why}.",
        "findings": _findings(shown),
        "outcomes": [_outcome(outcome) for outcome in test.outcomes],
        "drop": bool(ways) and set(ways) <= DROPPED,
    }


def _findings(shown: "list[Finding]") -> list[dict[str, str]]:
    return [{"finding": f.name, "ask": f.ask, "says": f.says, "seen": f.seen} for f in shown]


def _outcome(outcome: "Outcome") -> Mapping[str, object]:
    then = {"says": outcome.then.says, "probability": outcome.then.probability} if outcome.then else None
    return {"says": outcome.says, "chance": outcome.chance, "then": then}


FORMAT, PHASE = "tapewright/observation/1", "between"
#: what a form says -> key of an observation
ANSWERS = {"yes": "yes", "no": "no", "can't say": "cannot_say"}
PREFIX, READ = "answer:", "cautions-read"


def write_answers(bench: Bench, machine: str, model: "Model", fields: Mapping[str, str]) -> Entry:
    """Write what was answered as one observation.

    Raises:
        InputError: for a finding or an answer nobody knows, without any answer, or before a caution was read.
    """
    _pressed(fields)
    test = model.tests.get(fields.get("test", ""))
    answers = {name.removeprefix(PREFIX): said for name, said in fields.items() if name.startswith(PREFIX) and said}
    for finding, said in answers.items():
        if finding not in model.findings or said not in ANSWERS:
            raise InputError(
                "the answers",
                place=repr(finding[:60]),
                expected="a finding of this machine, and yes, no or can't say",
                found=repr(said[:20]),
            )
    if not answers:
        raise InputError("the answers", expected="at least one answer", found="none", do="Answer and send again.")
    must_read = test.cautions if test is not None and test.risk in UNDER_POWER else ()
    cautions = _cautions(machine, must_read, test.do if test else "", fields)
    result: dict[str, object] = {"format": FORMAT, "machine": model.name}
    for word, key in ANSWERS.items():
        result[key] = [finding for finding, said in answers.items() if said == word]
    result["done"] = [test.opens] if test is not None and test.opens else []
    body = {
        "sort": "observation",
        "phase": fields.get("phase", PHASE),
        "says": _in_words(model, answers),
        "result": result,
        "steps": {"test": test.name} if test else {},
    }
    line = NewEntry(machine, "evidence", body_of("evidence", body), fields.get("by", ""))
    return bench.book.write([*cautions, line], {})[-1]


def write_remedy(bench: Bench, machine: str, model: "Model", fields: Mapping[str, str]) -> Entry:
    """Write that a remedy was done, and whether the fault went away.

    Raises:
        InputError: for a remedy nobody knows, an outcome that is none, or before a caution was read.
    """
    _pressed(fields)
    cause, outcome = model.causes.get(fields.get("remedy", "")), fields.get("outcome", "")
    if cause is None or outcome not in (HELPED, "no"):
        raise InputError(
            "the remedy",
            expected=f"a remedy of this machine, and {HELPED} or no",
            found=f"{fields.get('remedy', '')[:60]!r}, {outcome[:20]!r}",
        )
    lines = _cautions(machine, cause.cautions, cause.do, fields)
    body: dict[str, object] = {
        "what": cause.do,
        "why": cause.says,
        "outcome": outcome,
        "cause": cause.name,
        "station": cause.station,
    }
    lines.append(NewEntry(machine, "adjustment", body_of("adjustment", body), fields.get("by", "")))
    if outcome != HELPED:
        result = {"format": FORMAT, "machine": model.name, "tried": [cause.name]}
        says = f"Tried in vain: {cause.do[:1].lower()}{cause.do[1:]}"
        body = {"sort": "observation", "phase": PHASE, "says": says, "result": result}
        lines.append(NewEntry(machine, "evidence", body_of("evidence", body), fields.get("by", "")))
    return bench.book.write(lines, {})[-1]


def _pressed(fields: Mapping[str, str]) -> None:
    """Refuse what Enter sent where no button was pressed: an answer is given by its own button only.

    Raises:
        InputError: then.
    """
    if fields.get("nothing"):
        raise InputError(
            "the answer",
            expected="one of the buttons to be pressed",
            found="Enter alone",
            do="Nothing was written. Press the button of your answer.",
        )


def take_back(bench: Bench, machine: str, key: str, why: str = "") -> Entry:
    """Take an answer, a note or a remedy back: a new line replaces it and says nothing.

    Raises:
        InputError: when it is none of these, or of another machine.
    """
    old = bench.book.entry(key)
    body = old.new.body
    kind = "observation" if body.get("sort") == "observation" else old.new.kind
    if old.new.machine != machine or kind not in ("observation", "note", "adjustment"):
        raise InputError("the book", expected="an answer, a note or a remedy of this machine", found=repr(key[:12]))
    note = {"note": why} if why and kind == "adjustment" else {}
    because = f" ({why})" if why and not note else ""
    reason = why or "it was taken back"
    if kind == "note":
        told = {"text": f"{TAKEN_BACK}{body['text']}{because}"}
        return bench.write(machine, "note", told, replaces=old.key, reason=reason)
    if kind == "adjustment":
        for tried in _tried_with(bench, old):
            take_back(bench, machine, tried.key, why)
        told = {"what": f"{TAKEN_BACK}{body['what']}", **note}
        return bench.write(machine, "adjustment", told, rests_on=[old.key], replaces=old.key, reason=reason)
    observed: dict[str, object] = {
        "sort": "observation",
        "phase": body["phase"],
        "says": f"{TAKEN_BACK}{body['says']}{because}",
        "result": {"format": FORMAT},
    }
    return bench.write(machine, "evidence", observed, rests_on=[old.key], replaces=old.key, reason=reason)


def _tried_with(bench: Bench, remedy: Entry) -> list[Entry]:
    """Return the observation that went into the book with a remedy in vain."""
    cause = remedy.new.body.get("cause")
    observed = bench.book.entries(remedy.new.machine, kinds=("evidence",), sort="observation")
    return [e for e in observed if e.number == remedy.number + 1 and e.new.body["result"].get("tried") == [cause]]


def _cautions(machine: str, cautions: Sequence[str], step: str, fields: Mapping[str, str]) -> list[NewEntry]:
    """Return a line for each caution that had to be read before the step.

    Raises:
        InputError: when it was not said that they were read.
    """
    if not cautions:
        return []
    if fields.get(READ) != "yes":
        raise InputError(
            "this step",
            expected="its cautions to be read and taken on first",
            found="no word of it",
            do="Read them, tick the box, and send again.",
        )
    return [NewEntry(machine, "caution", {"caution": c, "step": step, "acknowledged": True}) for c in cautions]


def _in_words(model: "Model", answers: Mapping[str, str]) -> str:
    """Say the answers in one sentence."""
    parts = []
    for word in ANSWERS:
        says = [model.findings[finding].says for finding, said in answers.items() if said == word]
        parts += [f"{word}: {'; '.join(says)}"] if says else []
    return ". ".join(parts)
