"""The shelf: one row a machine, kept in the same transaction as the lines about it."""

import re
from datetime import datetime

from sqlalchemy import Connection, RowMapping, func, insert, or_, select, update

from tapewright.book.entry import MachineOnShelf, NewEntry, read_canonical
from tapewright.book.store.tables import ENTRIES, MACHINES
from tapewright.book.timeline import printable
from tapewright.errors import InputError

KEY = re.compile(r"[0-9a-f]{32}")
#: at most so many names in a message
NAMES_SHOWN = 12


def machines(connection: Connection) -> tuple[MachineOnShelf, ...]:
    """Return all machines, by name."""
    found = connection.execute(select(MACHINES).order_by(MACHINES.c.folded)).mappings()
    return tuple(_machine(row) for row in found)


def machine(connection: Connection, said: str, name: str) -> MachineOnShelf:
    """Return the machine of this name or key; upper and lower case are one.

    Raises:
        InputError: when there is none; names those there are.
    """
    wanted = select(MACHINES).where(or_(MACHINES.c.folded == fold(name), MACHINES.c.key == name))
    row = connection.execute(wanted.order_by(MACHINES.c.key != name)).mappings().first()
    if row is not None:
        return _machine(row)
    by_name = select(MACHINES.c.name).order_by(MACHINES.c.folded)
    names = connection.execute(by_name.limit(NAMES_SHOWN + 1)).scalars().all()
    there = ", ".join(names[:NAMES_SHOWN]) + (" and more" if len(names) > NAMES_SHOWN else "")
    raise InputError(
        said,
        place=f"machine {name!r}",
        expected="a machine of this book",
        found="none of this name",
        do=f"There are: {there}." if names else "There is none yet: `tapewright machine add NAME`.",
    )


def note(connection: Connection, said: str, new: NewEntry, at: str, *, rename: bool) -> None:
    """Count a new line; an identity makes its machine, or gives it its newest name and model.

    Args:
        connection: an open transaction.
        said: what to call the book.
        new: the line.
        at: when it was written.
        rename: whether a machine whose name another has is given a number behind it instead of refused.

    Raises:
        InputError: when the machine is not on the shelf and the line is no identity, or the name is taken.
    """
    there = connection.execute(select(MACHINES).where(MACHINES.c.key == new.machine)).mappings().first()
    values = {"entries": (there["entries"] if there else 0) + 1, "last_at": at}
    if new.kind == "identity":
        values |= _named(connection, said, new, rename=rename)
    if there:
        connection.execute(update(MACHINES).where(MACHINES.c.key == new.machine).values(**values))
    elif new.kind == "identity":
        connection.execute(insert(MACHINES).values(key=new.machine, **values))
    elif rename:  # of a bundle: its identity comes later in it, or name_anew refuses
        connection.execute(insert(MACHINES).values(key=new.machine, name="", folded=new.machine, model="", **values))
    else:
        raise InputError(
            said,
            place=f"machine {new.machine}",
            expected="its identity before any other line",
            found=f"a line of kind {new.kind!r}",
        )


def name_anew(connection: Connection, called: str) -> None:
    """Give every machine the name, model and time that its lines say, whatever order they came in.

    Of machines with one name the one that stood here first has it alone; the others have a number behind it.

    Raises:
        InputError: for a machine without an identity.
    """
    identities = select(ENTRIES.c.machine, ENTRIES.c.document).where(ENTRIES.c.kind == "identity")
    said: dict[str, tuple[str, str]] = {}
    for row in connection.execute(identities.order_by(ENTRIES.c.place)).mappings():
        body = read_canonical(row["document"].encode())[0].body
        name, model = body.get("name"), body.get("model", "")
        if isinstance(name, str) and printable(name) and isinstance(model, str):
            # a dictionary keeps the place of the first word about a machine, with the newest
            said[row["machine"]] = (printable(name), printable(model))
    if nameless := set(connection.execute(select(MACHINES.c.key)).scalars()) - said.keys():
        raise InputError(
            called, place=f"machine {min(nameless)}", expected="its identity among its lines", found="none"
        )
    last = select(ENTRIES.c.machine, func.max(ENTRIES.c.at).label("at")).group_by(ENTRIES.c.machine)
    last_at = {row.machine: row.at for row in connection.execute(last)}
    # what stood on this shelf keeps the number behind its name, or the want of one
    stood = {row.key: row.name for row in connection.execute(select(MACHINES.c.key, MACHINES.c.name)) if row.name}
    connection.execute(update(MACHINES).values(folded=MACHINES.c.key))  # for a name may go from one to another
    taken: set[str] = set()
    for key in sorted(said, key=lambda key: key not in stood):
        name, model = said[key]
        free, count = name, 1
        if stood.get(key, "").startswith(f"{name} ("):
            free = stood[key]
        while fold(free) in taken:
            count += 1
            free = f"{name} ({count})"
        taken.add(fold(free))
        values = {"name": free, "folded": fold(free), "model": model, "last_at": last_at[key]}
        connection.execute(update(MACHINES).where(MACHINES.c.key == key).values(**values))


def fold(name: str) -> str:
    """Return the form in which two names are compared: case and runs of blanks do not matter."""
    return " ".join(name.casefold().split())


def _named(connection: Connection, said: str, new: NewEntry, *, rename: bool) -> dict[str, str]:
    name, model = new.body.get("name"), new.body.get("model", "")
    if not isinstance(name, str) or not printable(name) or not isinstance(model, str):
        raise InputError(
            said,
            place="identity",
            expected="a name for the machine, and its model in words",
            found=f"name {name!r}, model {model!r}",
        )
    if not KEY.fullmatch(new.machine):
        raise InputError(said, place="identity", expected="a machine key of 32 hex digits", found=repr(new.machine))
    free, count = printable(name), 1
    while _taken(connection, new.machine, free):
        if not rename:
            raise InputError(
                said,
                place="identity",
                expected="a name no other machine of the book has",
                found=f"{free!r}, which is taken",
                do="Give another name.",
            )
        count += 1
        free = f"{printable(name)} ({count})"
    return {"name": free, "folded": fold(free), "model": printable(model)}


def _taken(connection: Connection, key: str, name: str) -> bool:
    wanted = select(MACHINES.c.key).where(MACHINES.c.folded == fold(name), MACHINES.c.key != key)
    return connection.execute(wanted).first() is not None


def _machine(row: RowMapping) -> MachineOnShelf:
    at = datetime.fromisoformat(row["last_at"])
    return MachineOnShelf(row["key"], row["name"], row["model"], row["entries"], at)
