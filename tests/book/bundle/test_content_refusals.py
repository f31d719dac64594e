"""A manifest, lines or names that do not hold are refused with the reason, and the book is as it was."""

import json
from contextlib import closing

import pytest

from fakes.bundles import HERON, PETREL, SCAN, changed, imported, refused, relined, sha, with_manifest, zipped
from tapewright.book.entry import NewEntry
from tapewright.book.store.open import open_book

# ---- what the manifest and the lines say


@pytest.mark.parametrize("name", ["entries.jsonl", "keys.txt", "entries.csv", "README.txt", f"raw/{sha(SCAN)}"])
def test_a_hash_that_does_not_match(book, members, name, tmp_path):
    data = zipped(changed(members, name, lambda data: data[:-1] + bytes([data[-1] ^ 1])))
    assert "the file was altered or damaged" in refused(book, data, tmp_path)


def test_a_raw_file_that_is_not_what_its_name_says(book, members, tmp_path):
    data = zipped(with_manifest(changed(members, f"raw/{sha(SCAN)}", lambda data: data + b"!")))
    assert "the file was altered or damaged" in refused(book, data, tmp_path)


def test_a_line_altered_with_all_hashes_made_to_fit(book, members, tmp_path):
    altered = changed(members, "entries.jsonl", lambda data: data.replace(b"in order", b"all right"))
    data = zipped(with_manifest(altered))
    assert "expected a line with the key" in refused(book, data, tmp_path)


ABSENT = {"name": "x", "bytes": 1, "sha256": "0" * 64}


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda m: m | {"format": "tapewright/bundle/3"}, "which this program does not know"),
        (lambda m: m | {"format": "other/1"}, "expected format tapewright/bundle/1"),
        (lambda m: {k: v for k, v in m.items() if k != "members"}, "'members' to be a list of objects"),
        (lambda m: m | {"entries": True}, "'entries' to be a whole number"),
        (lambda m: m | {"entries": 4}, "others (2 machines, 4 lines)"),
        (lambda m: m | {"machines": []}, "others (0 machines, 5 lines)"),
        (lambda m: m | {"members": m["members"] * 2}, "one that stands there twice"),
        (lambda m: m | {"members": m["members"][1:]}, "one that it does not"),
        (lambda m: m | {"members": [*m["members"], ABSENT]}, "none of this name"),
        (lambda m: [m], "a JSON object; found list"),
    ],
)
def test_a_manifest_that_is_wrong(book, members, change, why, tmp_path):
    manifest = json.dumps(change(json.loads(members["manifest.json"]))).encode()
    assert why in refused(book, zipped(members | {"manifest.json": manifest}), tmp_path)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (b"{", "JSON in UTF-8"),
        (b"\xff\xfe", "JSON in UTF-8"),
        (b'{"format": "a", "format": "b"}', "the same key twice"),
        (b"[" * 200_000, "nested too deep"),
        (b"1" * 5000, "JSON in UTF-8"),
    ],
)
def test_a_manifest_that_is_no_json(book, members, text, why, tmp_path):
    assert why in refused(book, zipped(members | {"manifest.json": text}), tmp_path)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda lines: [*lines, b"{"], "expected a line of a book"),
        (lambda lines: [*lines, b"[]"], "expected a line of a book"),
        (lambda lines: [*lines, b"\xff"], "expected a line of a book"),
        (lambda lines: [*lines, b"[" * 100_000], "expected a line of a book"),
        (lambda lines: [*lines, lines[-1].replace(b'"note"', b'"poem"')], "no kind of line"),
        (lambda lines: [*lines, lines[-1].replace(b'{"at"', b'{ "at"')], "another writing of it"),
        (lambda lines: [*lines, lines[-1].replace(b'{"text":"in order"}', b"7")], "a body that is an object"),
        (lambda lines: [*lines, lines[-1].replace(b'"' + HERON.encode() + b'"', b"12")], "the machine's key as text"),
        (lambda lines: [*lines, lines[-1].replace(HERON.encode(), b"d" * 32)], "the identity of machine"),
        (lambda lines: lines[2:], "the identity of machine"),
        (lambda lines: [*lines, lines[-1]], "one that stands there before"),
        (lambda lines: lines[:-1], "others (2 machines, 5 lines)"),
        (lambda lines: [*lines, lines[0].replace(b'"files":[]', b'"files":["' + b"0" * 64 + b'"]')], "no such file"),
        (lambda lines: [lines[0], lines[1]], "others (2 machines, 5 lines)"),
    ],
)  # fmt: skip
def test_lines_that_are_none(book, members, change, why, tmp_path):
    data = relined(members, change)
    if why == "no such file":  # the counts would be found first
        manifest = json.loads(data["manifest.json"])
        manifest["entries"] += 1
        manifest["machines"][1]["entries"] += 1
        data["manifest.json"] = json.dumps(manifest).encode()
    assert why in refused(book, zipped(data), tmp_path)


def test_a_raw_file_that_no_line_names(book, members, tmp_path):
    data = zipped(with_manifest(members | {f"raw/{sha(b'more')}": b"more"}))
    assert "one that no line names" in refused(book, data, tmp_path)


@pytest.mark.parametrize("keys", [lambda k: k + b"0" * 64 + b"\n", lambda k: k[:-1], lambda k: k[:65], lambda k: b""])
def test_keys_that_do_not_go_with_the_lines(book, members, keys, tmp_path):
    data = zipped(with_manifest(changed(members, "keys.txt", keys)))
    assert "keys" in refused(book, data, tmp_path)


# ---- names of machines


def test_a_name_that_another_machine_has(members, good, tmp_path):
    with closing(open_book(str(tmp_path / "b.book"))) as other:
        other.write([NewEntry("c" * 32, "identity", {"name": "PETREL"})], {})
        assert "With --rename" in refused(other, good, tmp_path)
        result = imported(other, tmp_path / "try.zip", rename=True)
        assert {m.packed.name: m.name for m in result.machines} == {"Heron": "Heron", "Petrel": "Petrel (2)"}
        assert other.machine(PETREL).name == "Petrel (2)"
