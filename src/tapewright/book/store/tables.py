"""The tables of a book.

An entry is kept as the very bytes its fingerprint was taken of; all other columns are found again from them and
stand there for looking up. `number` counts in the order lines came; `place`, what people call the number of a line,
in the order of `sorted_by` (chains.in_order). Raw files lie in pieces, so that neither a long capture
nor a server needs much memory.

    machines 1---n entries n---n files 1---n pieces
                   entries 1---n links (which entries an entry names)
"""

from sqlalchemy import BigInteger, Column, ForeignKey, Index, Integer, LargeBinary, MetaData, String, Table, Text

METADATA = MetaData()

#: SQLite numbers rows by itself only in a column that it calls INTEGER.
_NUMBER = BigInteger().with_variant(Integer, "sqlite")
#: compared byte by byte, whatever language a server is set to
SORTED = Text().with_variant(Text(collation="C"), "postgresql")

MACHINES = Table(
    "machines",
    METADATA,
    Column("key", String(32), primary_key=True),
    Column("name", Text, nullable=False),
    Column("folded", Text, nullable=False, unique=True),
    Column("model", Text, nullable=False),
    Column("entries", Integer, nullable=False),
    Column("last_at", String(40), nullable=False),
)

ENTRIES = Table(
    "entries",
    METADATA,
    Column("number", _NUMBER, primary_key=True, autoincrement=False),
    Column("key", String(64), nullable=False, unique=True),
    Column("machine", String(32), ForeignKey("machines.key"), nullable=False),
    Column("kind", String(32), nullable=False),
    Column("sort", String(32)),
    Column("at", String(40), nullable=False),
    Column("by", Text, nullable=False),
    Column("says", Text, nullable=False),
    Column("replaces", String(64)),
    Column("bench", String(64)),
    Column("seq", BigInteger),
    Column("before", String(64)),
    Column("seen", Text),
    Column("signature", String(128)),
    Column("place", BigInteger, nullable=False),
    Column("sorted_by", SORTED, nullable=False),
    # last, so that a list of lines need not pass over long documents
    Column("document", Text, nullable=False),
    Index("entries_by_place", "place"),
    Index("entries_of_machine", "machine", "place"),
    Index("entries_of_kind", "machine", "kind", "place"),
    Index("entries_of_sort", "machine", "sort", "place"),
    Index("entries_in_order", "sorted_by"),
    Index("entries_of_bench", "bench", "seq"),
    Index("entries_of_chain", "machine", "bench", "seq"),
    Index("entries_replacing", "replaces"),
)

LINKS = Table(
    "links",
    METADATA,
    Column("number", _NUMBER, ForeignKey("entries.number"), primary_key=True),
    Column("names", String(64), primary_key=True),
    Index("links_by_name", "names", "number"),
)

FILES = Table(
    "files",
    METADATA,
    Column("sha256", String(64), primary_key=True),
    Column("bytes", BigInteger, nullable=False),
)

PIECES = Table(
    "pieces",
    METADATA,
    Column("sha256", String(64), ForeignKey("files.sha256"), primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("piece", LargeBinary, nullable=False),
)

FILES_OF_ENTRIES = Table(
    "files_of_entries",
    METADATA,
    Column("number", _NUMBER, ForeignKey("entries.number"), primary_key=True),
    Column("sha256", String(64), ForeignKey("files.sha256"), primary_key=True),
    Index("entries_by_file", "sha256", "number"),
)
