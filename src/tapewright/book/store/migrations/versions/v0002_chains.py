"""Chains, withdrawn lines, and the order of time: what was written before stays as it is, unsigned."""

import sqlalchemy as sa
from alembic import op

from tapewright.book.chains import in_order
from tapewright.book.entry import read_canonical
from tapewright.book.store.rows import linked
from tapewright.book.store.tables import SORTED

revision = "0002"
down_revision = "0001"

AT_A_TIME = 500
OLD_INDEXES = {"entries_of_machine": ["machine"], "entries_of_kind": ["machine", "kind"],
               "entries_of_sort": ["machine", "sort"]}  # fmt: skip


def upgrade() -> None:
    """Add the columns, find what they say of the lines there are, and index by place instead of by number."""
    for name, kind in (("replaces", sa.String(64)), ("bench", sa.String(64)), ("seq", sa.BigInteger),
                       ("before", sa.String(64)), ("seen", sa.Text), ("signature", sa.String(128))):  # fmt: skip
        op.add_column("entries", sa.Column(name, kind))
    op.add_column("entries", sa.Column("place", sa.BigInteger, nullable=False, server_default="0"))
    op.add_column("entries", sa.Column("sorted_by", SORTED, nullable=False, server_default=""))
    _fill(op.get_bind())
    for name, columns in OLD_INDEXES.items():
        op.drop_index(name, "entries")
        op.create_index(name, "entries", [*columns, "place"])
    for name, columns in (("entries_by_place", ["place"]), ("entries_in_order", ["sorted_by"]),
                          ("entries_of_bench", ["bench", "seq"]), ("entries_replacing", ["replaces"]),
                          ("entries_of_chain", ["machine", "bench", "seq"])):  # fmt: skip
        op.create_index(name, "entries", columns)


def _fill(connection: sa.Connection) -> None:
    entries = sa.table("entries", *(sa.column(name) for name in (
        "number", "key", "at", "document", "replaces", "place", "sorted_by")))  # fmt: skip
    lines, numbers, after = [], {}, 0
    while True:
        wanted = sa.select(entries).where(entries.c.number > after).order_by(entries.c.number).limit(AT_A_TIME)
        page = connection.execute(wanted).mappings().all()
        for row in page:
            lines.append(linked({**row, "bench": None, "seq": None, "before": None, "seen": None}))
            numbers[row["key"]] = row["number"]
            try:
                replaces = read_canonical(row["document"].encode())[0].replaces
            except ValueError:  # damaged: `book check` says so
                continue
            if replaces:
                of_line = entries.update().where(entries.c.number == row["number"])
                connection.execute(of_line.values(replaces=replaces))
        if len(page) < AT_A_TIME:
            break
        after = page[-1]["number"]
    order = in_order(lines)
    put = entries.update().where(entries.c.number == sa.bindparam("of")).values(
        place=sa.bindparam("stands"), sorted_by=sa.bindparam("sorted"))  # fmt: skip
    placed = [{"of": numbers[key], "stands": place, "sorted": order[key]}
              for place, key in enumerate(sorted(order, key=lambda each: order[each]), start=1)]  # fmt: skip
    if placed:
        connection.execute(put, placed)
