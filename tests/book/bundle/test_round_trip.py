"""A book goes out and comes in again whole, on SQLite and PostgreSQL; ordinary tools can check what lies between."""

import csv
import io
import json
import subprocess
import sys
import zipfile
from contextlib import closing
from pathlib import Path

import jsonschema
import pytest

from fakes.bundles import (
    CAPTURE,
    HERON,
    PETREL,
    SCAN,
    book_with_two_machines,
    everything,
    exported,
    imported,
    members_of,
    sha,
)
from tapewright.book.carrying import new_bundle
from tapewright.book.entry import NewEntry
from tapewright.book.export_book import export_book, lines_as_they_stand
from tapewright.book.store.open import open_book

SCHEMAS = Path(__file__).parents[3] / "docs/reference/schemas"
BUNDLE, ENTRY = (json.loads((SCHEMAS / f"{name}.json").read_text("utf-8")) for name in ("bundle", "entry"))


def _closing(path):
    return closing(open_book(str(path)))


@pytest.fixture
def book(tmp_path):
    opened = book_with_two_machines(tmp_path / "a.book")
    yield opened
    opened.close()


def test_a_book_comes_in_as_it_went_out(where, book, tmp_path):
    exported(book, tmp_path / "all.zip")
    other = open_book(where)
    result = imported(other, tmp_path / "all.zip")
    assert everything(other) == everything(book)
    assert (result.new, result.dangling) == (5, ())
    exported(other, tmp_path / "again.zip")
    other.close()
    assert (tmp_path / "again.zip").read_bytes() == (tmp_path / "all.zip").read_bytes()


def test_the_same_book_gives_the_same_bytes(book, tmp_path):
    one, two = (exported(book, tmp_path / f"{name}.zip") for name in ("one", "two"))
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    assert one.fingerprint == two.fingerprint == sha(members_of(tmp_path / "one.zip")["manifest.json"])


def test_taking_in_twice_adds_nothing(book, tmp_path):
    exported(book, tmp_path / "all.zip")
    before = everything(book)
    assert imported(book, tmp_path / "all.zip").new == 0
    assert everything(book) == before


def test_one_machine_alone(book, tmp_path):
    exported(book, tmp_path / "heron.zip", HERON)
    members = members_of(tmp_path / "heron.zip")
    assert [m["name"] for m in json.loads(members["manifest.json"])["machines"]] == ["Heron"]
    assert not any(name.startswith("raw/") for name in members)
    with _closing(tmp_path / "b.book") as other:
        imported(other, tmp_path / "heron.zip")
        assert [m.name for m in other.machines()] == ["Heron"]


def test_two_books_that_went_on_apart_are_merged(book, tmp_path):
    exported(book, tmp_path / "start.zip")
    with _closing(tmp_path / "b.book") as other:
        imported(other, tmp_path / "start.zip")
        book.write([NewEntry(PETREL, "note", {"text": "here"})], {})
        other.write([NewEntry(PETREL, "note", {"text": "there"})], {})
        exported(other, tmp_path / "there.zip")
        assert imported(book, tmp_path / "there.zip").new == 1
        exported(book, tmp_path / "both.zip")
        imported(other, tmp_path / "both.zip")
        here, there = everything(book), everything(other)
        assert {line[0] for line in here[0]} == {line[0] for line in there[0]}
        assert here[1:] == there[1:]


def test_lines_written_during_an_export_are_left_for_the_next(book, tmp_path):
    lines = lines_as_they_stand(book, None)
    book.write([NewEntry(HERON, "note", {"text": "later"})], {})
    done = export_book(book, lines, "1.0", new_bundle(tmp_path / "a.zip"), lambda _: None)
    assert done.manifest.entries == 5


# ---- outside checks


@pytest.mark.parametrize(
    ("data", "digest"),
    [
        # FIPS 180-4 / NIST "SHA-256 examples": one block, two blocks; the empty message and a million times "a" are
        # from NIST's published example values; digests from memory, each known to every SHA-256 tool
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
         "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
)  # fmt: skip
def test_raw_files_are_named_by_published_digests(data, digest, tmp_path):
    with _closing(tmp_path / "a.book") as book:
        book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}, files=(digest,))], {digest: data})
        exported(book, tmp_path / "a.zip")
        assert members_of(tmp_path / "a.zip")[f"raw/{digest}"] == data
        with _closing(tmp_path / "b.book") as other:
            imported(other, tmp_path / "a.zip")
            assert other.raw(digest).read() == data


def test_the_recipe_in_the_bundle_itself_finds_it_whole_and_finds_damage(book, tmp_path):
    """Outside check: sha256sum and the shell, as README.txt in the bundle tells anybody to use them."""
    exported(book, tmp_path / "all.zip")
    zipfile.ZipFile(tmp_path / "all.zip").extractall(tmp_path / "out")
    recipe = [line for line in (tmp_path / "out/README.txt").read_text("utf-8").splitlines() if "sha256sum" in line]
    assert len(recipe) == 2

    def check():
        script = "\n".join(recipe)
        done = subprocess.run(["bash", "-c", script], cwd=tmp_path / "out", capture_output=True, text=True, check=False)
        return done.stdout + done.stderr

    assert check() == ""
    (tmp_path / "out/raw" / sha(SCAN)).write_bytes(SCAN[:-1])
    assert sha(SCAN) in check()
    (tmp_path / "out/raw" / sha(SCAN)).write_bytes(SCAN)
    lines = (tmp_path / "out/entries.jsonl").read_bytes()
    (tmp_path / "out/entries.jsonl").write_bytes(lines.replace(b"in order", b"in Order"))
    assert check() != ""


def test_a_general_zip_tool_finds_nothing_wrong(book, tmp_path):
    exported(book, tmp_path / "all.zip")
    done = subprocess.run(
        [sys.executable, "-m", "zipfile", "-t", str(tmp_path / "all.zip")], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "Done testing"


def test_manifest_and_lines_fit_their_schemas(book, tmp_path):
    exported(book, tmp_path / "all.zip")
    members = members_of(tmp_path / "all.zip")
    jsonschema.validate(json.loads(members["manifest.json"]), BUNDLE)
    lines = members["entries.jsonl"].decode().split("\n")
    assert lines.pop() == ""
    for number, (line, key) in enumerate(zip(lines, members["keys.txt"].decode().split(), strict=True), start=1):
        document = {"format": "tapewright/entry/1", "number": number, "key": key, "reason": None} | json.loads(line)
        document |= {"bench": document["chain"]["bench"], "signature": "0" * 128, "signed": "by nobody yet"}
        jsonschema.validate(document, ENTRY)


def test_tables_are_for_people_and_hold_no_formula(book, tmp_path):
    exported(book, tmp_path / "all.zip")
    text = members_of(tmp_path / "all.zip")["entries.csv"].decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["machine"] for row in rows] == ["Petrel", "Heron", "Petrel", "Petrel", "Heron"]
    assert rows[3]["says"].startswith("'=Größe")
    files = list(csv.DictReader(io.StringIO(members_of(tmp_path / "all.zip")["files.csv"].decode("utf-8-sig"))))
    assert [row["name"] for row in files if row["sha256"] == sha(CAPTURE)] == ["petrel.csv"]


def test_a_raw_file_that_packs_too_well_is_stored_so_that_it_can_come_in(tmp_path):
    still = bytes(3_000_000)  # a line at rest: packs a thousand times
    with _closing(tmp_path / "a.book") as book, _closing(tmp_path / "b.book") as other:
        book.write([NewEntry(PETREL, "identity", {"name": "Petrel"}, files=(sha(still),))], {sha(still): still})
        exported(book, tmp_path / "a.zip")
        info = zipfile.ZipFile(tmp_path / "a.zip").getinfo(f"raw/{sha(still)}")
        assert info.compress_type == zipfile.ZIP_STORED
        imported(other, tmp_path / "a.zip")
        assert everything(other) == everything(book)
