"""The shelf: the machines of the book and where each stands; a new machine is put on it here."""

from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.said import nominal_baud
from tapewright.bench.words import KINDS
from tapewright.book.keep_result import begin_machine
from tapewright.book.record import new_machine_key
from tapewright.errors import InputError

LONGEST_NAME = 80
#: states that the shelf tells of
WORTH_A_WORD = ("outside", "suspect")


def answer(asking: Asking) -> dict[str, object]:
    """Return the machines, by name."""
    machines = [
        {
            "key": m.key,
            "name": m.name,
            "model": m.model,
            "entries": m.entries,
            "last_at": m.last_at.isoformat(),
            "stands": _stands(asking, m.key),
            "open": None if (found := asking.bench.open.known(m.key)) is None else [w["says"] for w in found.words],
        }
        for m in asking.bench.book.machines()
    ]
    return {"machines": machines, "kinds": KINDS}


def _stands(asking: Asking, machine: str) -> list[dict[str, str]]:
    """Return the stations that are outside or suspect, as last worked out; the list must not wait for the advisor."""
    known = asking.bench.standings.known(machine)
    stations = known.diagnosis.stations if known else ()
    return [{"title": s.title, "state": s.state} for s in stations if s.state in WORTH_A_WORD]


def add(said: Said) -> Done:
    """Put a new machine on the shelf.

    Raises:
        InputError: without a name, or with a name that is taken.
    """
    fields = {name: text.strip() for name, text in said.fields.items()}
    name, advisor = " ".join(fields.get("name", "").split()), fields.get("advisor", "whole")
    if not 0 < len(name) <= LONGEST_NAME:
        raise InputError(
            "the new machine",
            place="its name",
            expected=f"a name of up to {LONGEST_NAME} letters",
            found=repr(name[:LONGEST_NAME]),
            do="Give it the name people call it by.",
        )
    if advisor not in KINDS:
        raise InputError(
            "the new machine",
            place="what it is",
            expected=f"one of {', '.join(KINDS)}",
            found=repr(advisor[:LONGEST_NAME]),
        )
    body: dict[str, object] = {"name": name, "advisor": advisor}
    body |= {field: fields[field] for field in ("model", "serial") if fields.get(field)}
    if (baud := nominal_baud(fields)) is not None:
        body["nominal_baud"] = baud
    key = new_machine_key()
    entry = begin_machine(said.asking.bench.book, key, body, by=fields.get("by", ""))
    return Done(f"/machines/{key}", (entry.key,), f"{name} is on the shelf.")


PAGE = Page(
    "shelf",
    "/",
    answer,
    "The machines of the book and where each stands.",
    menu="Shelf",
    of="bench",
    actions={"machines": add},
)
