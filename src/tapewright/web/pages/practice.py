"""Practice: a machine with a fault nobody tells you; every test and remedy costs minutes; the advisor plays it too."""

import secrets
from collections import OrderedDict
from typing import TYPE_CHECKING, Any

from tapewright.errors import InputError
from tapewright.web.page import Asking, Done, Page, Said
from tapewright.web.pages.shelf import KINDS

if TYPE_CHECKING:
    from tapewright.app.practise import Round, Step

MOST_ROUNDS = 50
PATH = "/practice"


class Rounds:
    """The rounds being played; they live with the server, and the oldest make room."""

    def __init__(self) -> None:
        """Begin without any."""
        self._played: OrderedDict[str, tuple[int, Round, Any]] = OrderedDict()

    def keep(self, number: int, played: "Round", machine: Any) -> str:
        """Keep a round; give its id."""
        id_ = secrets.token_hex(8)
        self._played[id_] = (number, played, machine)
        while len(self._played) > MOST_ROUNDS:
            self._played.popitem(last=False)
        return id_

    def get(self, id_: str) -> "tuple[int, Round, Any]":
        """Give a round.

        Raises:
            InputError: when there is none of this id.
        """
        if id_ not in self._played:
            raise InputError("practice", expected="a round that is being played", found=repr(id_[:20]),
                             do="Deal a new machine.")  # fmt: skip
        return self._played[id_]


ROUNDS = Rounds()


def answer(asking: Asking) -> dict[str, Any]:
    """Give the round as it stands: what shows, what was done, what can be done; the score when it is over."""
    id_ = asking.query.get("round", "")
    if not id_:
        return {"kinds": KINDS, "round": None}
    number, played, machine = ROUNDS.get(id_)
    model = played.model
    known = [{"says": model.findings[a.finding].says, "state": a.state} for a in played.answers]
    return {"kinds": KINDS, "round": {
        "id": id_, "number": number, "minutes": played.minutes, "mended": played.mended, "title": model.title,
        "known": [k for k in known if k["state"] == "present"],
        "steps": [_step(played, step) for step in played.steps],
        "tests": sorted(({"name": t.name, "do": t.do, "minutes": t.minutes} for t in played.open_tests()),
                        key=lambda t: t["do"]),
        "remedies": sorted(({"name": c.name, "says": c.says, "do": c.do, "minutes": c.minutes}
                            for c in model.causes.values()), key=lambda c: c["says"]),
        "advisor": _advisors_way(played, machine) if played.mended else None,
    }}  # fmt: skip


def _step(played: "Round", step: "Step") -> dict[str, Any]:
    model = played.model
    cause = model.causes.get(step.name)
    came = [model.findings[f].says for f, said in step.came if said == "yes" and f in model.findings]
    mended = dict(step.came).get("mended")
    return {"do": cause.do if cause and mended else model.tests[step.name].do, "minutes": step.minutes, "came": came,
            "mended": mended}  # fmt: skip


def _advisors_way(played: "Round", machine: Any) -> dict[str, Any]:
    """Play the same machine by the advisor."""
    from tapewright.app.practise import begin, follow_advice

    other = follow_advice(begin(played.model, machine, machine.by_fault))
    return {"minutes": other.minutes, "mended": other.mended, "steps": [_step(other, step) for step in other.steps]}


def deal(said: Said) -> Done:
    """Deal a machine."""
    from tapewright.adapters.machine_models import load
    from tapewright.app.practise import begin
    from tapewright.wiring import deal_practice_machine

    kind = said.fields.get("advisor", "")
    if kind not in KINDS:
        raise InputError("practice", expected=f"one of {', '.join(KINDS)}", found=repr(kind[:20]))
    model = load(kind)
    number, machine = deal_practice_machine(model, None, 1, "")
    id_ = ROUNDS.keep(number, begin(model, machine, machine.by_fault), machine)
    return Done(f"{PATH}?round={id_}", (), "A machine stands on the bench.")


def step(said: Said) -> Done:
    """Do a test or a remedy."""
    id_ = said.fields.get("round", "")
    _, played, _ = ROUNDS.get(id_)
    test, remedy = said.fields.get("test", ""), said.fields.get("remedy", "")
    if test in {t.name for t in played.open_tests()}:
        done = played.do_test(test)
    elif remedy in played.model.causes and not test:
        done = played.do_remedy(remedy)
    else:
        raise InputError("practice", expected="a test that is open or a remedy", found=repr((test or remedy)[:40]))
    told = _step(played, done)
    outcome = {"yes": "Mended.", "no": "It did not help."}
    says = "; ".join(told["came"]) or outcome.get(str(told["mended"]), "Nothing of it.")
    return Done(f"{PATH}?round={id_}", (), says)


PAGE = Page("practice", PATH, answer, "A practice machine with a fault nobody tells you.", menu="Practice", of="bench",
            actions={"deal": deal, "step": step})  # fmt: skip
