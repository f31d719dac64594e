"""Books and bundles for the tests: a small book with raw files, and bundles that were tampered with."""

import hashlib
import io
import json
import zipfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tapewright.book.carrying import new_bundle, open_bundle
from tapewright.book.entry import NewEntry
from tapewright.book.export_book import export_book, lines_as_they_stand
from tapewright.book.import_book import check_bundle, import_book
from tapewright.book.store.open import open_book
from tapewright.errors import InputError

PETREL, HERON = "a" * 32, "b" * 32
CAPTURE, SCAN = b"time,level\n0,1\n0.022,0\n", bytes(range(256)) * 20


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


class Clock:
    """A second more each time."""

    def __init__(self):
        self.now = datetime(2026, 3, 1, 12, tzinfo=UTC)

    def __call__(self):
        self.now += timedelta(seconds=1)
        return self.now


def book_with_two_machines(where):
    """Petrel with a capture and a scan, a correction and words in other alphabets; Heron with a note."""
    book = open_book(str(where), clock=Clock(), program="1.0")
    book.write([NewEntry(PETREL, "identity", {"name": "Petrel", "model": "keyboard punch"}, by="Ada")], {})
    book.write([NewEntry(HERON, "identity", {"name": "Heron"}, by="Ada")], {})
    files = {sha(CAPTURE): CAPTURE, sha(SCAN): SCAN}
    body = {
        "sort": "line", "phase": "as found", "says": "contact 3 is late", "result": {"value": 1.5},
        "sources": [{"sha256": sha(CAPTURE), "name": "petrel.csv", "role": "capture"}],
    }  # fmt: skip
    first = NewEntry(PETREL, "evidence", body, by="Ada", files=(sha(CAPTURE), sha(SCAN)))
    (wrong,) = book.write([first], files)
    odd = {"text": "=Größe\u2028, \"ß\"\n×"}
    book.write([NewEntry(PETREL, "note", odd, rests_on=(wrong.key,))], {})
    book.write([NewEntry(HERON, "note", {"text": "in order"})], {})
    return book


def exported(book, path, machine=None, program="1.0"):
    return export_book(book, lines_as_they_stand(book, machine), program, new_bundle(Path(path)), lambda _: None)


def imported(book, path, *, rename=False, largest_gib=16.0):
    with open_bundle(Path(path), largest_gib=largest_gib) as bundle:
        return import_book(book, check_bundle(bundle, str(path), lambda _: None), lambda _: None, rename=rename)


def everything(book):
    """All that a book holds, without its numbers: lines, names on the shelf, raw files with their bytes."""
    lines = [(e.key, e.at, e.program, e.new) for e in book.read_through()]
    raw = {}
    for name in book.raw_files():
        with book.raw(name) as stream:
            raw[name] = stream.read()
    return lines, [(m.key, m.name, m.model, m.entries) for m in book.machines()], raw


def members_of(path):
    with zipfile.ZipFile(path) as archive:
        return {info.filename: archive.read(info) for info in archive.infolist()}


def packed(members, path=None):
    """Pack (name or ZipInfo, bytes) pairs, in order."""
    target = path or io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(name, data)
    return target


def with_manifest(members):
    """Return members with a manifest that fits them, as somebody who tampers with a bundle would."""
    rest = {name: data for name, data in members.items() if name != "manifest.json"}
    manifest = json.loads(members["manifest.json"])
    manifest["members"] = [{"name": n, "bytes": len(d), "sha256": sha(d)} for n, d in sorted(rest.items())]
    return rest | {"manifest.json": json.dumps(manifest).encode()}


def refused(book, data, tmp_path, **how):
    """Return the reason, after seeing that nothing came of it: not in the book, not in the folder."""
    path = tmp_path / "try.zip"
    path.write_bytes(data)
    before, files = everything(book), sorted(tmp_path.rglob("*"))
    with pytest.raises(InputError) as problem:
        imported(book, path, **how)
    assert everything(book) == before
    assert sorted(tmp_path.rglob("*")) == files
    return str(problem.value)


def zipped(members):
    return packed(list(members.items())).getvalue()


def changed(members, name, change):
    return members | {name: change(members[name])}


def relined(members, change):
    """Change the lines, and make keys and manifest fit them."""
    lines = change(members["entries.jsonl"].split(b"\n")[:-1])
    keys = b"".join(sha(line).encode() + b"\n" for line in lines)
    return with_manifest(members | {"entries.jsonl": b"".join(line + b"\n" for line in lines), "keys.txt": keys})
