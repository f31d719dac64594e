"""Trials: screws that upset each other; type what was turned and what it reads, and see trim's next move drawn."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from tapewright.bench.drawn.screws import turn
from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.trialling import (
    MM_AN_INCH,
    add_trial,
    begin_from_file,
    begun,
    mend_screws,
    mend_trial,
    take_back,
    trialled,
)
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.bench.trialling import Trialled
    from tapewright.gauges.requirement import Requirement
    from tapewright.gauges.trim.problem import Knob, Seen

MOST_SCREWS, MOST_TURNS = 4, 20.0
NONE_YET = "There are no trials yet. Nothing was written."


def answer(asking: Asking) -> dict[str, object]:
    """Return the trials so far, each reading against its limit, and the next move; or what trials can begin with."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    kept = None if asking.query.get("anew") else trialled(book, machine.key)
    head: dict[str, object] = {"machine": heading(machine), "most_screws": MOST_SCREWS}
    if kept is None:
        from tapewright.gauges.cautions import FORCE, PLUG_OUT

        head["cautions"] = [PLUG_OUT, FORCE]
        can = [
            {"id": r.id, "what": r.what, "unit": r.unit, "station": r.station, "screws": list(r.knobs)}
            for r in _can_be_trialled(asking, machine.key)
        ]
        return head | {"can": can, "begun": False, "advice": None, "moves": [], "knobs": [], "readings": [], "log": []}
    return head | {"can": [], "begun": True} | _so_far(kept, asking.units == "inch")


def _so_far(kept: "Trialled", inches: bool) -> dict[str, object]:
    from tapewright.furniture.json_values import judged, measured

    problem, advice = kept.problem, kept.advice
    stands = dict(zip((k.name for k in problem.knobs), problem.trials[-1].at, strict=True))
    readings = [
        {
            "name": t.name,
            "unit": "in" if inches and t.unit == "mm" else t.unit,
            "verdict": judged(v),
            "predicted": measured(advice.predicted[t.name]),
        }
        for t, v in zip(problem.targets, advice.now, strict=True)
    ]
    return {
        "cautions": list(advice.cautions),
        "advice": {"state": advice.state, "why": advice.why, "sure": advice.sure},
        "moves": [turn(name, advice.knob_units[name], by, stands[name]) for name, by in advice.move.items()],
        "knobs": [
            {
                "name": k.name,
                "unit": k.unit,
                "stands": stands[k.name],
                "advised": advice.move.get(k.name, 0.0),
                **_room_of(k, stands[k.name]),
            }
            for k in problem.knobs
        ],
        "readings": readings,
        "log": _log(kept, inches),
    }


def _room_of(knob: "Knob", stands: float) -> dict[str, float | None]:
    """Return its play, the farthest in one go, and how far it can go either way before it meets a stop."""
    back = None if knob.low is None else round(stands - knob.low, 6)
    on = None if knob.high is None else round(knob.high - stands, 6)
    return {"most": knob.step_limit, "play": knob.play, "back": back, "on": on}


def _log(kept: "Trialled", inches: bool) -> list[dict[str, object]]:
    """Return every trial, newest first."""
    units = [t.unit for t in kept.problem.targets]
    return [
        {
            "number": n,
            "at": list(trial.at),
            "read": [_said(seen, unit, inches) for seen, unit in zip(trial.read, units, strict=True)],
        }
        for n, trial in reversed(list(enumerate(kept.problem.trials)))
    ]


def _said(seen: "Seen | None", unit: str, inches: bool) -> str:
    if seen is None:
        return "not read"
    scale, digits = (1 / MM_AN_INCH, 4) if inches and unit == "mm" else (1.0, 4)
    if seen.value is not None:
        return f"{round(seen.value * scale, digits):g}"
    low, high = (None if end is None else f"{round(end * scale, digits):g}" for end in (seen.low, seen.high))
    return f"above {low}" if high is None else f"below {high}" if low is None else f"{low} to {high}"


def _can_be_trialled(asking: Asking, machine: str) -> "list[Requirement]":
    """Return what the sheet wants as a number within a limit, at one place; first where it names the screws."""
    from tapewright.bench.gauging import bound, question_of

    kept = bound(asking.bench.book, machine)
    if kept is None:
        return []
    by_id = {c.requirement.id: c.requirement for c in kept.check.checked}
    numbers = [r for r in (by_id[id_] for id_ in kept.check.order.ids) if question_of(r, "").takes_number]
    can = [r for r in numbers if len(r.positions) < 2 and (r.test.low, r.test.high) != (None, None)]
    return sorted(can, key=lambda r: not r.knobs)


def begin(said: Said) -> Done:
    """Begin: the screws by name, with play and stops where known, and what each reading is as found."""
    from tapewright.gauges.trim.problem import Knob

    book, fields = said.asking.bench.book, said.fields
    machine = book.machine(said.asking.where["machine"])
    here, by = f"/machines/{machine.key}/trials", fields.get("by", "")
    if text := fields.get("text", "").strip():
        line = begin_from_file(book, machine.key, "trials.toml", text.replace("\r\n", "\n").encode(), by)
        return Done(here, (line.key,), "The trials are in the book.")
    most = _number("the farthest in one go", fields.get("most", "0.5")) or 0.5
    named = [(n, name) for n in range(MOST_SCREWS) if (name := fields.get(f"screw-{n}", "").strip()[:60])]
    screws = [_screw(fields, n, Knob(name, "turn", step_limit=most), 0.0) for n, name in named]
    names = [knob.name for knob in screws]
    if not screws or len(set(names)) < len(names):
        raise InputError("the screws", expected="at least one name, each used once", found=", ".join(names) or "none")
    wanted = [r for r in _can_be_trialled(said.asking, machine.key) if fields.get(f"read-{r.id}", "").strip()]
    if not wanted:
        raise InputError("the readings", expected="what at least one of them is as found", found="none")
    problem = begun(screws, wanted)
    typed = [fields[f"read-{r.id}"] for r in wanted]
    line = add_trial(book, machine.key, problem, [0.0] * len(screws), typed, inches=_inches(fields), by=by)
    return Done(here, (line.key,), "The trials begin. As found is written down.")


def add(said: Said) -> Done:
    """Add a trial: how far each screw was turned since the last one, and what is read now."""
    book, fields = said.asking.bench.book, said.fields
    machine, here, kept = _going_on(said)
    if kept is None:
        return Done(here, (), NONE_YET)
    turned = [_number(k.name, fields.get(f"turned-{n}", "")) for n, k in enumerate(kept.problem.knobs)]
    typed = [fields.get(f"read-{n}", "") for n in range(len(kept.problem.targets))]
    line = add_trial(book, machine, kept.problem, turned, typed, inches=_inches(fields), by=fields.get("by", ""))
    return Done(here, (line.key,), f"Trial {len(kept.problem.trials)} is in the log. {line.new.body['advice']['why']}")


def mend(said: Said) -> Done:
    """Put right what was read in a trial, the one as found too."""
    book, fields = said.asking.bench.book, said.fields
    machine, here, kept = _going_on(said)
    if kept is None:
        return Done(here, (), NONE_YET)
    number = _number("the trial", fields.get("trial", ""))
    typed = [fields.get(f"read-{n}", "") for n in range(len(kept.problem.targets))]
    line = mend_trial(
        book,
        machine,
        kept,
        int(number) if number.is_integer() else -1,
        typed,
        inches=_inches(fields),
        by=fields.get("by", ""),
    )
    return Done(here, (line.key,), f"The trial is mended. {line.new.body['advice']['why']}")


def screws(said: Said) -> Done:
    """Put right a screw's play, its stops, and the farthest it may go in one go."""
    book, fields = said.asking.bench.book, said.fields
    machine, here, kept = _going_on(said)
    if kept is None:
        return Done(here, (), NONE_YET)
    stand = kept.problem.trials[-1].at
    knobs = [
        replace(
            _screw(fields, n, k, at),
            step_limit=_room(f"{k.name}, farthest in one go", fields.get(f"most-{n}", "")) or None,
        )
        for n, (k, at) in enumerate(zip(kept.problem.knobs, stand, strict=True))
    ]
    line = mend_screws(book, machine, kept, knobs, fields.get("by", ""))
    return Done(here, (line.key,), f"The screws are noted. {line.new.body['advice']['why']}")


def undo(said: Said) -> Done:
    """Take the last trial back."""
    book = said.asking.bench.book
    machine = book.machine(said.asking.where["machine"])
    line = take_back(book, machine.key)
    says = "The last trial is taken back. Turn the screws back too."
    return Done(f"/machines/{machine.key}/trials", (line.key,), says)


def _going_on(said: Said) -> "tuple[str, str, Trialled | None]":
    """Return the machine's key, the path of its trials, and the trials so far; None when there are none."""
    book = said.asking.bench.book
    machine = book.machine(said.asking.where["machine"]).key
    return machine, f"/machines/{machine}/trials", trialled(book, machine)


def _inches(fields: Mapping[str, str]) -> bool:
    return fields.get("unit") == "inch"


def _screw(fields: Mapping[str, str], n: int, knob: "Knob", stands: float) -> "Knob":
    """Return the screw with the play and the stops that were typed; stops are counted from where it stands."""
    back = _room(f"{knob.name}, to the stop anticlockwise", fields.get(f"back-{n}", ""))
    on = _room(f"{knob.name}, to the stop clockwise", fields.get(f"on-{n}", ""))
    play = _room(f"{knob.name}, play", fields.get(f"play-{n}", "")) or 0.0
    low, high = None if back is None else round(stands - back, 6), None if on is None else round(stands + on, 6)
    return replace(knob, play=play, low=low, high=high)


def _room(what: str, typed: str) -> float | None:
    """Return a size that was typed; an empty box is not known."""
    if not typed.strip():
        return None
    number = _number(what, typed)
    if number < 0:
        raise InputError(what, expected="0 or more, or nothing", found=repr(typed[:40]))
    return number


def _number(what: str, typed: str) -> float:
    """Return how far a screw was turned; an empty box is not at all."""
    try:
        number = float(typed.strip().replace(",", ".") or 0)
    except ValueError:
        number = math.nan
    if not abs(number) <= MOST_TURNS * 360:
        raise InputError(what, expected="a number such as 0.25 or -0.25", found=repr(typed[:40]))
    return number


PAGE = Page(
    "trials",
    "/machines/{machine}/trials",
    answer,
    "Trials of screws that upset each other, and trim's next move.",
    menu="Trials",
    actions={"begin": begin, "add": add, "mend": mend, "screws": screws, "undo": undo},
)
