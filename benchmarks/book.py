"""Time the book: 100,000 evidence lines over 1,000 machines; a page under 50 ms, opening under 0.3 s, flat memory.

    python benchmarks/book.py [--machines 1000] [--lines 100] [--where FILE|URL]

Prints each figure against its floor. The book is made first (some minutes) in a folder that is thrown away.
"""

import argparse
import hashlib
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil

from tapewright.book.entry import NewEntry
from tapewright.book.kinds import SORTS
from tapewright.book.look_at_machine import look_at_machine
from tapewright.book.store.open import open_book
from tapewright.book.store.sql_book import SqlBook

PAGE_S, OPEN_S = 0.050, 0.300
#: size of a result document, as `line read` gives one for some thirty characters
RESULT_BYTES = 14_000
RAW_BYTES = 400 * 1024 * 1024
FLAT_BYTES = 64 * 1024 * 1024


def fill(book: SqlBook, machines: int, lines: int) -> None:
    """Write the machines one after the other, each with its lines in one go."""
    for number in range(machines):
        key = hashlib.sha256(str(number).encode()).hexdigest()[:32]
        identity = NewEntry(key, "identity", {"name": f"Machine {number:04d}", "model": "keyboard punch"})
        book.write([identity, *lines_about(key, lines)], {})


def lines_about(key: str, lines: int) -> Iterator[NewEntry]:
    """Make evidence in turn of every sort, and every tenth time an adjustment with a recheck on top."""
    sorts = list(SORTS)
    for n in range(lines):
        result = {"format": SORTS[sorts[n % len(sorts)]], "text": f"{n:06d} " * (RESULT_BYTES // 7)}
        body = {"sort": sorts[n % len(sorts)], "phase": "between", "says": f"reading {n}", "result": result}
        yield NewEntry(key, "evidence", body, by="Ada")
        if n % 10 == 0:
            yield NewEntry(key, "adjustment", {"what": f"screw {n}"})
            yield NewEntry(key, "recheck", {"what": f"gap {n}", "state": "owed"})


def pages(book: SqlBook, machines: int) -> dict[str, Callable[[], object]]:
    """Return what the pages ask for, about a machine in the middle of the book."""
    machine = book.machine(f"Machine {machines // 2:04d}")
    middle = book.timeline(machine.key, limit=50)[-1].number
    newest = book.entries(machine.key, limit=1)[0].key
    return {
        "the shelf": book.machines,
        "a machine by name": lambda: book.machine(machine.name),
        "a machine at a glance": lambda: look_at_machine(book, machine.name),
        "fifty lines of its timeline": lambda: book.timeline(machine.key, limit=50),
        "the next fifty": lambda: book.timeline(machine.key, before=middle, limit=50),
        "its newest evidence": lambda: book.newest_evidence(machine.key),
        "its rechecks": lambda: book.entries(machine.key, kinds=("recheck",)),
        "one line by its key": lambda: book.entry(newest[:12]),
        "lines that rest on it": lambda: book.naming(newest),
        "all lines of one sort": lambda: book.entries(machine.key, sort="line"),
    }


def slowest(what: Callable[[], object], times: int = 7) -> float:
    """Return the median of a few runs, the first (cold) one left out."""
    what()
    took = []
    for _ in range(times):
        began = time.perf_counter()
        what()
        took.append(time.perf_counter() - began)
    return sorted(took)[times // 2]


def opening_s(where: str) -> float:
    """Time opening in a fresh process, with the libraries loaded: the median of five."""
    script = (
        "import sys, time; from tapewright.book.store.open import open_book; began = time.perf_counter();"
        "book = open_book(sys.argv[1], create=False); book.machines(); print(time.perf_counter() - began)"
    )
    took = [float(subprocess.check_output([sys.executable, "-c", script, where])) for _ in range(5)]
    return sorted(took)[2]


def resident() -> int:
    """Return the memory this process holds, bytes."""
    return int(psutil.Process().memory_info().rss)


def read_all(book: SqlBook) -> tuple[int, int]:
    """Read the book through; give the lines and the most memory it took beyond what was there."""
    before, most, count = resident(), 0, 0
    for count, _ in enumerate(book.read_through(), start=1):
        if count % 1000 == 0:
            most = max(most, resident() - before)
    return count, most


def raw_in_and_out(book: SqlBook, folder: Path) -> int:
    """Store a long raw file and read it again; give the most memory it took."""
    file, sha256 = folder / "long.raw", hashlib.sha256()
    with file.open("wb") as out:
        for _ in range(RAW_BYTES >> 20):
            sha256.update(block := os.urandom(1 << 20))
            out.write(block)
    before, most = resident(), 0
    key = book.machines()[0].key
    line = NewEntry(key, "photo", {"shows": "a long file"}, files=(sha256.hexdigest(),))
    book.write([line], {sha256.hexdigest(): file})
    most, again = resident() - before, hashlib.sha256()
    with book.raw(sha256.hexdigest()) as stream:
        while piece := stream.read(1 << 20):
            again.update(piece)
            most = max(most, resident() - before)
    assert again.digest() == sha256.digest()
    return most


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--machines", type=int, default=1000)
    parser.add_argument("--lines", type=int, default=100)
    parser.add_argument("--where")
    said = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        where = said.where or str(Path(scratch) / "workshop.book")
        book, began = open_book(where), time.perf_counter()
        fill(book, said.machines, said.lines)
        print(f"{said.machines * said.lines} evidence lines written in {time.perf_counter() - began:.0f} s")
        told("opening", opening_s(where), OPEN_S)
        for name, page in pages(book, said.machines).items():
            told(name, slowest(page), PAGE_S)
        count, most = read_all(book)
        held(f"all {count} lines read through", most)
        held(f"{RAW_BYTES >> 20} MB of raw file in and out", raw_in_and_out(book, Path(scratch)))
        book.close()


def told(name: str, took_s: float, floor_s: float) -> None:
    """Print a time against its floor."""
    print(f"{name:32s} {1e3 * took_s:8.1f} ms, {took_s / floor_s:5.2f} of {1e3 * floor_s:.0f} ms", flush=True)


def held(name: str, most: int) -> None:
    """Print memory against what counts as flat."""
    print(f"{name:32s} {most / 1e6:8.1f} MB more, {most / FLAT_BYTES:5.2f} of {FLAT_BYTES / 1e6:.0f} MB", flush=True)


if __name__ == "__main__":
    main()
