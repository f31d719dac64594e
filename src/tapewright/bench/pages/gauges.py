"""Gauges: one requirement fills the screen; type the reading, Enter goes to the next in the order of the work."""

from collections.abc import Mapping
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING
from urllib.parse import quote

from tapewright.bench.drawn.screws import turn
from tapewright.bench.from_book import heading
from tapewright.bench.gauging import add, bound, bring_sheet, question_of, read_typed, take_back_last
from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.trialling import trialled
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.gauges.checking import Checked, SheetCheck
    from tapewright.gauges.journal import Entry, Journal

#: sheets that come with the program -> words
BUILT_IN = {"petrel": "the invented machine Petrel", "heron": "the invented machine Heron", "template": "the template"}
LOG_SHOWN = 12


def answer(asking: Asking) -> dict[str, object]:
    """Return the requirement to measure now, the order of the work, rechecks, the log, and trim's next move."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    kept = bound(book, machine.key)
    head: dict[str, object] = {"machine": heading(machine), "built_in": BUILT_IN, "trim": _trim(asking, machine.key)}
    if kept is None:
        return head | {
            "sheet": None,
            "now": None,
            "order": [],
            "left": None,
            "open": [],
            "recheck": [],
            "log": [],
            "loops": [],
        }
    check = kept.check
    by_id = {c.requirement.id: c for c in check.checked}
    place = _place(check, asking.query)
    return head | {
        "sheet": {"machine": check.sheet.machine, "variant": check.sheet.variant},
        "now": None if place is None else _now(by_id[place[0]], place[1], check),
        "order": (order := [_short(by_id[id_]) for id_ in check.order.ids]),
        "left": _left(order, check.next.id if check.next else ""),
        "open": asking.bench.open.of(machine).words,
        "recheck": [
            {"id": id_, "what": by_id[id_].requirement.what, "because": list(by_id[id_].recheck_because)}
            for id_ in check.recheck
        ],
        "log": _log(kept.journal),
        "loops": [list(loop) for loop in check.order.loops],
    }


def _boxes(check: "SheetCheck") -> list[tuple[str, str]]:
    """Return every box in the order of the work: requirement and position."""
    by_id = {c.requirement.id: c.requirement for c in check.checked}
    return [(id_, position) for id_ in check.order.ids for position in by_id[id_].positions or ("",)]


def _place(check: "SheetCheck", query: Mapping[str, str]) -> tuple[str, str] | None:
    """Return the box asked for; else the first empty one of what comes next."""
    boxes = _boxes(check)
    asked = (query.get("id", ""), query.get("position", ""))
    if asked in boxes:
        return asked
    wanted = query.get("id") or (check.next.id if check.next else "")
    found = next((c.found for c in check.checked if c.requirement.id == wanted), {})
    here = [box for box in boxes if box[0] == wanted]
    return next((box for box in here if box[1] not in found), here[0] if here else None)


def _after(check: "SheetCheck", box: tuple[str, str]) -> tuple[str, str] | None:
    """Return the box after this one in the order of the work."""
    boxes = _boxes(check)
    return boxes[boxes.index(box) + 1] if box in boxes and boxes.index(box) + 1 < len(boxes) else None


def _now(c: "Checked", position: str, check: "SheetCheck") -> dict[str, object]:
    from tapewright.furniture.json_values import judged
    from tapewright.gauges.cautions import cautions_before
    from tapewright.gauges.gauge import GAUGES

    r = c.requirement
    question = question_of(r, position)
    boxes = _boxes(check)
    return {
        **_short(c),
        "position": position,
        "positions": list(r.positions),
        "stage": r.stage.value,
        "how_stands": r.state,
        "between": list(r.between),
        "quantity": r.quantity,
        "unit": r.unit,
        "kind": r.kind.value,
        "takes_eye": question.takes_eye,
        "takes_number": question.takes_number,
        "cautions": list(cautions_before(r)),
        "gauge": GAUGES[r.gauge].name if r.gauge in GAUGES else "",
        "tools": list(r.tools),
        "reset": r.reset,
        "note": r.note,
        "verdict": judged(c.verdict) if c.verdict is not None else None,
        "touched": c.touched,
        "recheck_because": list(c.recheck_because),
        "settle": c.settle.how if c.settle else "",
        "upsets": list(check.order.recheck[r.id]),
        "box": boxes.index((r.id, position)) + 1,
        "boxes": len(boxes),
        "is_next": check.next is not None and check.next.id == r.id,
        "why": check.next.why if check.next else "",
    }


def _short(c: "Checked") -> dict[str, object]:
    r = c.requirement
    return {
        "id": r.id,
        "what": r.what,
        "station": r.station,
        "state": c.state.value,
        "closed": c.closed,
        "measured": bool(c.found),
        "recheck": bool(c.recheck_because),
    }


def _left(order: list[dict[str, object]], next_id: str) -> dict[str, object]:
    """Return how much is left, what comes next, and what is left by station, in the order of the work."""
    left = [requirement for requirement in order if not requirement["closed"]]
    groups = [
        {"station": station, "requirements": list(there)} for station, there in groupby(left, lambda r: r["station"])
    ]
    following = next(({"id": r["id"], "what": r["what"]} for r in order if r["id"] == next_id), None)
    return {"count": len(left), "of": len(order), "next": following, "groups": groups}


def _log(journal: "Journal") -> list[dict[str, str]]:
    """Return the last entries in words, newest first."""
    return [{"id": entry.id, "says": _said(entry)} for entry in reversed(journal[-LOG_SHOWN:])]


def _said(e: "Entry") -> str:
    place = f"{e.position}: " if e.position else ""
    if e.changed:
        return f"changed: {e.changed}"
    if e.accepted:
        return f"accepted: {e.accepted}"
    if e.eye is not None:
        return place + ("yes" if e.eye else "no")
    if e.leaves:
        return place + " + ".join(f"{leaf:g}" for leaf in e.leaves)
    if e.value is not None:
        return f"{place}{e.value:g} {e.unit}".strip()
    return f"{place}{e.low:g} to {e.high:g} {e.unit}".strip()


def _trim(asking: Asking, machine: str) -> dict[str, object] | None:
    """Return trim's advice on the newest trials, each move with its turn as a drawing needs it."""
    kept = trialled(asking.bench.book, machine)
    if kept is None:
        return None
    advice, names = kept.advice, [k.name for k in kept.problem.knobs]
    stands = dict(zip(names, kept.problem.trials[-1].at, strict=True))
    moves = [turn(name, advice.knob_units[name], by, stands[name]) for name, by in advice.move.items()]
    return {"state": advice.state, "why": advice.why, "sure": advice.sure, "moves": moves, "undo": advice.undo}


def take(said: Said) -> Done:
    """Take a reading; go on to the next box."""
    book, fields = said.asking.bench.book, said.fields
    machine = book.machine(said.asking.where["machine"])
    kept = bound(book, machine.key)
    by_id = {} if kept is None else {c.requirement.id: c.requirement for c in kept.check.checked}
    box = (fields.get("id", ""), fields.get("position", ""))
    if kept is None or box not in _boxes(kept.check):
        return Done(f"/machines/{machine.key}/gauges", (), "There is no such box in this sheet. Nothing was written.")
    if fields.get("eye") and fields.get("reading", "").strip():
        raise InputError(
            "the reading",
            expected="a number, or yes or no",
            found="both at once",
            do="Press Yes or No with the box empty, or Enter with the number in it.",
        )
    entry = read_typed(by_id[box[0]], box[1], fields.get("eye") or fields.get("reading", ""))
    if fields.get("unit") == "in" and by_id[box[0]].unit == "mm" and entry.eye is None:
        entry = replace(entry, unit="in")
    line = add(book, machine.key, entry, fields.get("by", ""))
    now = bound(book, machine.key)
    state = "" if now is None else next(c.state.value for c in now.check.checked if c.requirement.id == box[0])
    following = _after(kept.check, box)
    see = _path(machine.key, following)
    return Done(see, (line.key,), f"{by_id[box[0]].what}: {state}.")


def change(said: Said) -> Done:
    """Take down a change: what was moved and how far; what it upsets is to be measured again."""
    from tapewright.gauges.journal import Entry

    book, fields = said.asking.bench.book, said.fields
    machine = book.machine(said.asking.where["machine"])
    what = fields.get("changed", "").strip()[:200] or "moved"
    line = add(book, machine.key, Entry(fields.get("id", ""), changed=what), fields.get("by", ""))
    see = _path(machine.key, (fields.get("id", ""), ""))
    return Done(see, (line.key,), "Noted. Measure it again, and what it upsets.")


def undo(said: Said) -> Done:
    """Take the last reading or change back."""
    book = said.asking.bench.book
    machine = book.machine(said.asking.where["machine"])
    line = take_back_last(book, machine.key)
    return Done(f"/machines/{machine.key}/gauges", (line.key,), "The last line of the log is taken back.")


def sheet(said: Said) -> Done:
    """Bring in the machine's sheet: one that comes with the program, or the text of one's own."""
    from tapewright.gauges.files.on_disk import built_in_bytes

    book, fields = said.asking.bench.book, said.fields
    machine = book.machine(said.asking.where["machine"])
    text, chosen = fields.get("text", "").strip(), fields.get("built_in", "")
    if not text and chosen not in BUILT_IN:
        return Done(f"/machines/{machine.key}/gauges", (), "No sheet was given. Nothing was written.")
    name = "sheet.toml" if text else f"{chosen}.toml"
    content = text.replace("\r\n", "\n").encode() if text else built_in_bytes(chosen)
    line = bring_sheet(book, machine.key, name, content, fields.get("variant", ""), fields.get("by", ""))
    return Done(f"/machines/{machine.key}/gauges", (line.key,), "The sheet is in the book.")


def _path(machine: str, box: tuple[str, str] | None) -> str:
    if box is None:
        return f"/machines/{machine}/gauges"
    position = f"&position={quote(box[1])}" if box[1] else ""
    return f"/machines/{machine}/gauges?id={quote(box[0])}{position}#reading"


PAGE = Page(
    "gauges",
    "/machines/{machine}/gauges",
    answer,
    "The requirement to measure now, and the order of the work.",
    menu="Gauges",
    module="gauges",
    actions={"take": take, "change": change, "undo": undo, "sheet": sheet},
)
