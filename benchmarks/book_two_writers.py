"""Two programs write to one book at once: 10,000 records each, none lost, none doubled, numbers without a gap.

    python benchmarks/book_two_writers.py [--records 10000] [--where FILE|URL]
"""

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tapewright.book.entry import NewEntry, key_of
from tapewright.book.store.open import open_book

MACHINE = "cd" * 16


def write(where: str, name: str, records: int) -> None:
    """Write so many lines, one at a time, and print the key of each once it is acknowledged."""
    book = open_book(where)
    for number in range(records):
        print(book.write([NewEntry(MACHINE, "note", {"text": f"{name} {number}"})], {})[0].key)
    book.close()


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--records", type=int, default=10_000)
    parser.add_argument("--where")
    parser.add_argument("--writer")
    said = parser.parse_args()
    if said.writer:
        write(said.where, said.writer, said.records)
        return 0
    with tempfile.TemporaryDirectory() as scratch:
        where = said.where or str(Path(scratch) / "workshop.book")
        book, began = open_book(where), time.perf_counter()
        book.write([NewEntry(MACHINE, "identity", {"name": "Petrel"})], {})
        command = [sys.executable, __file__, "--where", where, "--records", str(said.records), "--writer"]
        writers = [subprocess.Popen([*command, name], stdout=subprocess.PIPE, text=True) for name in ("left", "right")]
        keys = [line for writer in writers for line in writer.communicate()[0].split()]
        took = time.perf_counter() - began
        entries = list(book.read_through())
        there = {entry.key for entry in entries}
        right = (
            all(writer.returncode == 0 for writer in writers)
            and len(keys) == len(set(keys)) == 2 * said.records
            and there >= set(keys)
            and [entry.number for entry in entries] == list(range(1, 2 * said.records + 2))
            and all(key_of(entry.new, entry.at, entry.program, entry.link) == entry.key for entry in entries)
            and book.machine("Petrel").entries == len(entries)
        )
        book.close()
    print(f"{len(keys)} records from two writers in {took:.0f} s: {'all there' if right else 'SOMETHING IS AMISS'}")
    return 0 if right else 1


if __name__ == "__main__":
    sys.exit(main())
