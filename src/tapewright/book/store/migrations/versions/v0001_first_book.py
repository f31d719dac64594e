"""The first book: machines, entries, links, raw files in pieces."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "machines",
        sa.Column("key", sa.String(32), primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("folded", sa.Text, nullable=False, unique=True),
        sa.Column("model", sa.Text, nullable=False),
        sa.Column("entries", sa.Integer, nullable=False),
        sa.Column("last_at", sa.String(40), nullable=False),
    )
    op.create_table(
        "entries",
        sa.Column("number", _NUMBER, primary_key=True, autoincrement=False),
        sa.Column("key", sa.String(64), nullable=False, unique=True),
        sa.Column("machine", sa.String(32), sa.ForeignKey("machines.key"), nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("sort", sa.String(32)),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("by", sa.Text, nullable=False),
        sa.Column("says", sa.Text, nullable=False),
        sa.Column("document", sa.Text, nullable=False),
    )
    op.create_index("entries_of_machine", "entries", ["machine", "number"])
    op.create_index("entries_of_kind", "entries", ["machine", "kind", "number"])
    op.create_index("entries_of_sort", "entries", ["machine", "sort", "number"])
    op.create_table(
        "links",
        sa.Column("number", _NUMBER, sa.ForeignKey("entries.number"), primary_key=True),
        sa.Column("names", sa.String(64), primary_key=True),
    )
    op.create_index("links_by_name", "links", ["names", "number"])
    op.create_table(
        "files",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("bytes", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "pieces",
        sa.Column("sha256", sa.String(64), sa.ForeignKey("files.sha256"), primary_key=True),
        sa.Column("place", sa.Integer, primary_key=True),
        sa.Column("piece", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "files_of_entries",
        sa.Column("number", _NUMBER, sa.ForeignKey("entries.number"), primary_key=True),
        sa.Column("sha256", sa.String(64), sa.ForeignKey("files.sha256"), primary_key=True),
    )
    op.create_index("entries_by_file", "files_of_entries", ["sha256", "number"])
