"""Bundles: out, checked and in, each against what any program must do with the same bytes in the same run.

python benchmarks/bundles.py           20 MB of captures, 2,000 lines
python benchmarks/bundles.py --full    200 MB of captures, 20,000 lines

Limits: export 2 times hashing and deflating the raw files and lines; check 3 times inflating and hashing them and
reading each line as JSON (it also writes each again, to see that it is canonical).
"""

import hashlib
import json
import sys
import tempfile
import time
import zipfile
import zlib
from contextlib import closing
from pathlib import Path

import numpy as np

from tapewright.book.carrying import check_the_book, new_bundle, open_bundle
from tapewright.book.entry import NewEntry
from tapewright.book.export_book import export_book, lines_as_they_stand
from tapewright.book.import_book import check_bundle, import_book
from tapewright.book.store.open import open_book

EXPORT_LIMIT, CHECK_LIMIT = 2.0, 3.0
MACHINE = "a" * 32


def timed(what, work):
    begin = time.process_time()
    result = work()
    took = time.process_time() - begin
    print(f"{what:<34} {took:7.2f} s")
    return result, took


def fill(book, lines, megabytes):
    generator = np.random.default_rng(1)
    book.write([NewEntry(MACHINE, "identity", {"name": "Petrel"})], {})
    for _ in range(megabytes // 10):
        capture = (generator.normal(0, 20, 10_000_000) + 128).astype(np.uint8).tobytes()
        sha256 = hashlib.sha256(capture).hexdigest()
        body = {"sort": "line", "phase": "between", "says": "-", "result": {}}
        book.write([NewEntry(MACHINE, "evidence", body, files=(sha256,))], {sha256: capture})
    for first in range(0, lines, 500):
        rows = generator.normal(size=(500, 40)).round(6).tolist()
        book.write([NewEntry(MACHINE, "trial", {"at": {"n": first}, "read": {"row": row}}) for row in rows], {})


def hash_and_deflate(members):
    for data in members:
        hashlib.sha256(data).hexdigest()
        zlib.compress(data, 6)


def inflate_and_hash(path):
    with zipfile.ZipFile(path) as archive:
        for name in archive.namelist():
            hashlib.sha256(archive.read(name)).hexdigest()
        for line in archive.read("entries.jsonl").splitlines():
            json.loads(line)


def main():
    lines, megabytes = (20_000, 200) if "--full" in sys.argv else (2_000, 20)
    with tempfile.TemporaryDirectory() as folder:
        file, zip_file = Path(folder) / "a.book", Path(folder) / "a.zip"
        with closing(open_book(str(file))) as book:
            timed("fill the book", lambda: fill(book, lines, megabytes))
            now = lines_as_they_stand(book, None)
            _, out = timed("export", lambda: export_book(book, now, "1", new_bundle(zip_file), lambda _: None))
        with zipfile.ZipFile(zip_file) as archive:
            members = [archive.read(name) for name in archive.namelist()]
        _, least = timed("  hash and deflate the same", lambda: hash_and_deflate(members))
        _, floor = timed("  inflate, hash, read as JSON", lambda: inflate_and_hash(zip_file))
        with open_bundle(zip_file, largest_gib=16) as bundle, closing(open_book(str(Path(folder) / "b.book"))) as other:
            checked, seen = timed("check the bundle", lambda: check_bundle(bundle, "a.zip", lambda _: None))
            timed("take it in", lambda: import_book(other, checked, lambda _: None, rename=False))
        timed("check the book", lambda: check_the_book(str(file), lambda _: None))
    print(f"export  {out / least:.2f} times (limit {EXPORT_LIMIT:g})")
    print(f"check   {seen / floor:.2f} times (limit {CHECK_LIMIT:g})")
    return int(out / least > EXPORT_LIMIT or seen / floor > CHECK_LIMIT)


if __name__ == "__main__":
    sys.exit(main())
