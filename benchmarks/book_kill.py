"""Kill the writer of a book with SIGKILL at random moments; nothing acknowledged may be lost, and all must be whole.

    python benchmarks/book_kill.py [--kills 1000] [--where FILE|URL] [--seed N]

One round: a child opens the book (now and then one that is not there yet) and writes lines with raw files, some of
them of several pieces, by a clock that jumps about. It tells the parent each key after the book has acknowledged it.
The parent kills it after a random time, opens the book, and looks for every key it was told. At the end the whole book
is gone through: SQLite's own integrity check, every line and every raw file hashed again, numbers without a gap.
Exit code 1 when anything is amiss. Linux and macOS only.
"""

import argparse
import hashlib
import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tapewright.book.entry import NewEntry, key_of
from tapewright.book.keys import own_key
from tapewright.book.store.open import open_book
from tapewright.book.store.place import place_of
from tapewright.book.store.raw_files import PIECE_BYTES
from tapewright.book.store.sql_book import SqlBook
from tapewright.terminal.run import run

MACHINE = "ab" * 16
LONGEST_LIFE_S = 0.4
KEY_LINE = 65
#: out of so many: rounds that begin a new book; writes with a raw file of several pieces
NEW_BOOK_ONE_IN, LONG_FILE_ONE_IN = 20, 60


def write_until_killed(where: str, tell: int, rng: random.Random) -> None:
    """Write lines for ever; tell each key once it is acknowledged."""
    book = open_book(where, clock=lambda: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=rng.uniform(-1e8, 1e8)))
    if not book.machines():
        told(tell, book.write([NewEntry(MACHINE, "identity", {"name": "Petrel"})], {})[0].key)
    while True:
        long = rng.randrange(LONG_FILE_ONE_IN) == 0
        data = rng.randbytes(PIECE_BYTES + 7 if long else rng.randrange(30_000))
        sha256 = hashlib.sha256(data).hexdigest()
        lines = [NewEntry(MACHINE, "photo", {"shows": rng.random()}, files=(sha256,)),
                 NewEntry(MACHINE, "note", {"text": "x" * rng.randrange(5_000), "n": rng.random()})]  # fmt: skip
        for entry in book.write(lines, {sha256: data}):
            told(tell, entry.key)


def told(tell: int, key: str) -> None:
    """Tell a key; so few bytes go through a pipe whole or not at all."""
    os.write(tell, f"{key}\n".encode())


def one_round(where: str, rng: random.Random) -> list[str]:
    """Start a writer, kill it, give the keys it had acknowledged."""
    hear, tell = os.pipe()
    seed, life_s = rng.randrange(2**32), rng.uniform(0.0, LONGEST_LIFE_S)
    child = os.fork()
    if child == 0:
        os.close(hear)
        try:
            write_until_killed(where, tell, random.Random(seed))
        finally:
            os._exit(1)  # never back into the parent's code
    os.close(tell)
    time.sleep(life_s)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the writer stopped by itself"
    with os.fdopen(hear, "rb") as pipe:
        said = pipe.read()
    return [said[at : at + KEY_LINE - 1].decode() for at in range(0, len(said) - KEY_LINE + 1, KEY_LINE)]


def lost(where: str, keys: Sequence[str]) -> list[str]:
    """Open the book as the next user would; give the keys that are not there."""
    book = open_book(where)
    there = {entry.key for entry in book.entries(MACHINE, limit=len(keys) + 2)} if keys else set()
    book.close()
    return [key for key in keys if key not in there]


def amiss(book: SqlBook) -> list[str]:
    """Go through the whole book without the code that checks it; give what is amiss."""
    out = []
    if book.engine.dialect.name == "sqlite":
        with book.engine.connect() as connection:
            out += [row[0] for row in connection.exec_driver_sql("PRAGMA integrity_check") if row[0] != "ok"]
            out += [f"foreign key: {tuple(row)}" for row in connection.exec_driver_sql("PRAGMA foreign_key_check")]
    number = 0
    for number, entry in enumerate(book.read_through(), start=1):
        if entry.number != number or key_of(entry.new, entry.at, entry.program, entry.link) != entry.key:
            out.append(f"line {entry.number}")
    out += [f"{m.name}: {m.entries} on the shelf, {number} in the book" for m in book.machines() if m.entries != number]
    for sha256, length in book.raw_files().items():
        with book.raw(sha256) as stream:
            data = stream.read()
        if hashlib.sha256(data).hexdigest() != sha256 or len(data) != length:
            out.append(f"raw file {sha256}")
    return out


def main() -> int:
    own_key().sign("")  # the key is made, and its library loaded, before any writer is
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--where")
    parser.add_argument("--seed", type=int, default=1)
    said = parser.parse_args()
    rng, wrong, keys = random.Random(said.seed), list[str](), 0
    with tempfile.TemporaryDirectory() as scratch:
        where = said.where or str(Path(scratch) / "workshop.book")
        on_disk = place_of(where).file is not None
        for number in range(said.kills):
            fresh = on_disk and rng.randrange(NEW_BOOK_ONE_IN) == 0
            place = str(Path(scratch) / f"new-{number}.book") if fresh else where
            acknowledged = one_round(place, rng)
            keys += len(acknowledged)
            wrong += [f"round {number}: {key} is lost" for key in lost(place, acknowledged)]
            if fresh:
                wrong += final(place)
        wrong += final(where)
    print("\n".join(wrong))
    print(f"{said.kills} kills, {keys} lines acknowledged, {len(wrong)} amiss")
    return 1 if wrong else 0


def final(where: str) -> list[str]:
    """Go through a book at the end."""
    book = open_book(where)
    found = amiss(book)
    book.close()
    if run(["book", "check", "--book", where]) != 0:
        found.append("`book check` finds fault")
    return found


if __name__ == "__main__":
    sys.exit(main())
