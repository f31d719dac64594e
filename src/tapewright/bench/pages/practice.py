"""Practice: a machine with a fault nobody tells you; every test and remedy costs minutes; the advisor plays it too."""

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.rounds import Did, Played
from tapewright.bench.words import KINDS
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.course.practise import Round, Step

PATH = "/practice"


def answer(asking: Asking) -> dict[str, object]:
    """Return the round as it stands: what shows, what was done, what can be done; the score when it is over."""
    id_ = asking.query.get("round", "")
    if not id_:
        return {"kinds": KINDS, "round": None, "rounds": [_line_of(*each) for each in asking.bench.rounds.all()]}
    kept, played = asking.bench.rounds.get(id_)
    model = played.model
    known = [{"says": model.findings[a.finding].says, "state": a.state} for a in played.answers]
    return {
        "kinds": KINDS,
        "rounds": [],
        "round": {
            "id": id_,
            "number": kept.number,
            "begun": kept.begun,
            "minutes": played.minutes,
            "mended": played.mended,
            "title": model.title,
            "known": [k for k in known if k["state"] == "present"],
            "steps": [_step(played, step) for step in played.steps],
            "tests": [
                {"name": t.name, "do": t.do, "minutes": t.minutes}
                for t in sorted(played.open_tests(), key=lambda t: t.do)
            ],
            "remedies": [
                {"name": c.name, "says": c.says, "do": c.do, "minutes": c.minutes}
                for c in sorted(model.causes.values(), key=lambda c: c.says)
            ],
            "was": [c.says for c in model.causes.values() if c.name in kept.machine.faults] if played.mended else None,
            "advisor": _advisors_way(played, kept.machine) if played.mended else None,
        },
    }


def _line_of(kept: Played, played: "Round") -> dict[str, object]:
    """Return one line of the record: what was guessed, in order, and, once it is mended, what was true."""
    causes = played.model.causes
    guessed = [causes[step.name].says for step in played.steps if "mended" in dict(step.came)]
    true = [causes[name].says for name in kept.machine.faults if name in causes] if played.mended else None
    return {
        "id": kept.id,
        "begun": kept.begun,
        "title": played.model.title,
        "number": kept.number,
        "minutes": played.minutes,
        "steps": len(played.steps),
        "mended": played.mended,
        "guessed": guessed,
        "true": true,
        "in_vain": sum(1 for step in played.steps if dict(step.came).get("mended") == "no"),
    }


def _step(played: "Round", step: "Step") -> dict[str, Any]:
    model = played.model
    cause = model.causes.get(step.name)
    came = [model.findings[f].says for f, said in step.came if said == "yes" and f in model.findings]
    mended = dict(step.came).get("mended")
    return {
        "do": cause.do if cause and mended else model.tests[step.name].do,
        "minutes": step.minutes,
        "came": came,
        "mended": mended,
    }


def _advisors_way(played: "Round", machine: Any) -> dict[str, object]:
    """Play the same machine by the advisor."""
    from tapewright.course.practise import begin, follow_advice

    other = follow_advice(begin(played.model, machine, machine.by_fault))
    return {"minutes": other.minutes, "mended": other.mended, "steps": [_step(other, step) for step in other.steps]}


def deal(said: Said) -> Done:
    """Deal a machine."""
    kind = said.fields.get("advisor", "")
    if kind not in KINDS:
        raise InputError("practice", expected=f"one of {', '.join(KINDS)}", found=repr(kind[:20]))
    kept = said.asking.bench.rounds.begin(kind, datetime.now(UTC).isoformat(timespec="seconds"))
    return Done(f"{PATH}?round={kept.id}", (), "A machine stands on the bench.")


def step(said: Said) -> Done:
    """Do a test or a remedy."""
    id_ = said.fields.get("round", "")
    rounds = said.asking.bench.rounds
    _, played = rounds.get(id_)
    test, remedy = said.fields.get("test", ""), said.fields.get("remedy", "")
    if not rounds.do(id_, Did("test", test) if test else Did("remedy", remedy)):
        raise InputError("practice", expected="a test that is open or a remedy", found=repr((test or remedy)[:40]))
    told = _step(played, played.steps[-1])
    outcome = {"yes": "Mended.", "no": "It did not help."}
    says = "; ".join(map(str, told["came"])) or outcome.get(str(told["mended"]), "Nothing of it.")
    return Done(f"{PATH}?round={id_}", (), says)


PAGE = Page(
    "practice",
    PATH,
    answer,
    "A practice machine with a fault nobody tells you.",
    menu="Practice",
    of="bench",
    actions={"deal": deal, "step": step},
)
