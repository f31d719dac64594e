"""What is no bundle, or no whole one, or a trap, is refused with the reason, and the book is as it was."""

import contextlib
import io
import json
import stat
import struct
import zipfile
from contextlib import closing

import hypothesis.strategies as st
import pytest
from hypothesis import HealthCheck, given, settings

from fakes.bundles import (
    HERON,
    PETREL,
    SCAN,
    book_with_two_machines,
    everything,
    exported,
    imported,
    members_of,
    packed,
    sha,
    with_manifest,
)
from tapewright.adapters.book.open import open_book
from tapewright.adapters.bundle.zip_reader import ZipReader
from tapewright.app.import_book import check_bundle
from tapewright.cli.run import run
from tapewright.core.book.bundle.members import Limits
from tapewright.core.book.entry import NewEntry
from tapewright.errors import InputError


@pytest.fixture(scope="module")
def good(tmp_path_factory):
    """The bytes of a bundle that is whole."""
    folder = tmp_path_factory.mktemp("good")
    with closing(book_with_two_machines(folder / "a.book")) as book:
        exported(book, folder / "all.zip")
    return (folder / "all.zip").read_bytes()


@pytest.fixture(scope="module")
def members(good):
    return members_of(io.BytesIO(good))


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """A book with one line, which must never change."""
    with closing(open_book(str(tmp_path_factory.mktemp("book") / "b.book"))) as opened:
        opened.write([NewEntry("c" * 32, "identity", {"name": "Gannet"})], {})
        yield opened


def refused(book, data, tmp_path, **how):
    """Give the reason, after seeing that nothing came of it: not in the book, not in the folder."""
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


def test_the_good_one_is_good(book, good, tmp_path):
    (tmp_path / "good.zip").write_bytes(good)
    with ZipReader(tmp_path / "good.zip") as bundle:
        assert list(bundle.check_hashes())


# ---- not a whole zip


@pytest.mark.parametrize("data", [b"", b"GIF89a" + bytes(500), b"\x00" * 100_000])
def test_no_zip(book, data, tmp_path):
    assert "expected a bundle (a zip file)" in refused(book, data, tmp_path)


@pytest.mark.parametrize("part", [0.1, 0.5, 0.9, 0.999])
def test_half_a_file(book, good, part, tmp_path):
    why = refused(book, good[: int(len(good) * part)], tmp_path)
    assert "whole zip" in why
    assert "missing" in why


def test_a_zip_of_something_else(book, tmp_path):
    assert "expected only the files of a bundle" in refused(book, zipped({"holiday.txt": b"sun"}), tmp_path)
    assert "expected a bundle with a manifest.json" in refused(book, zipped({"README.txt": b"-"}), tmp_path)


# ---- traps in the list of files


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("../evil.txt", "leads out of its folder"),
        ("raw/../../evil.txt", "leads out of its folder"),
        ("raw\\..\\..\\evil.txt", "leads out of its folder"),
        ("/etc/passwd", "begins at the root of a disk"),
        ("C:\\Windows\\evil.dll", "begins at the root of a disk"),
        ("\\\\server\\share\\evil", "begins at the root of a disk"),
        ("raw/", "a folder"),
        ("notes.txt", "does not belong in a bundle"),
        ("raw/" + "A" * 64, "does not belong in a bundle"),
        ("MANIFEST.JSON", "does not belong in a bundle"),
        ("raw/" + "a" * 64 + "\x00.txt", "does not belong in a bundle"),
    ],
)
def test_names_that_no_bundle_has(book, members, name, why, tmp_path):
    added = packed([*members.items(), ("raw/" + "f" * 64, b"x")]).getvalue()
    assert why in refused(book, rename_member(added, "raw/" + "f" * 64, name), tmp_path)


def rename_member(data, old, new):
    """Write the zip again with a member under another name, as its bytes stand."""
    source, out = zipfile.ZipFile(io.BytesIO(data)), io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for info in source.infolist():
            fresh = zipfile.ZipInfo("placeholder")
            fresh.filename = new if info.filename == old else info.filename
            archive.writestr(fresh, source.read(info))
    return out.getvalue()


def test_a_link(book, members, tmp_path):
    link = zipfile.ZipInfo("raw/" + "f" * 64)
    link.create_system, link.external_attr = 3, (stat.S_IFLNK | 0o777) << 16
    data = packed([*members.items(), (link, b"/etc/passwd")]).getvalue()
    assert "a link to another place" in refused(book, data, tmp_path)


def test_a_device(book, members, tmp_path):
    device = zipfile.ZipInfo("raw/" + "f" * 64)
    device.create_system, device.external_attr = 3, (stat.S_IFCHR | 0o600) << 16
    data = packed([*members.items(), (device, b"")]).getvalue()
    assert "something that is no plain file" in refused(book, data, tmp_path)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_twice(book, members, tmp_path):
    data = packed([*members.items(), ("keys.txt", b"other")]).getvalue()
    assert "two files of this name" in refused(book, data, tmp_path)


def test_an_encrypted_file(book, good, tmp_path):
    data = bytearray(good)
    directory = data.rfind(b"PK\x01\x02")  # the last header of the directory; its flags stand at byte 8
    data[directory + 8] |= 1
    assert "an encrypted one" in refused(book, bytes(data), tmp_path)


def test_another_packing(book, members, tmp_path):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_LZMA) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    assert "packing number 14" in refused(book, out.getvalue(), tmp_path)


# ---- bombs


def test_a_bomb_by_ratio(book, members, tmp_path):
    bomb = bytes(20_000_000)
    data = zipped(with_manifest(members | {f"raw/{sha(bomb)}": bomb}))
    assert len(data) < 100_000
    assert "packed at most 200 times" in refused(book, data, tmp_path)


def test_a_bomb_by_total(book, good, tmp_path):
    assert "allow more with --largest" in refused(book, good, tmp_path, largest_gib=1e-6)


def test_a_bomb_by_number_of_files(members, tmp_path):
    (tmp_path / "many.zip").write_bytes(zipped(members | {f"raw/{n:064x}": b"" for n in range(50)}))
    with pytest.raises(InputError, match="at most 40 files"):
        ZipReader(tmp_path / "many.zip", Limits(members=40))


def test_a_directory_that_would_fill_the_memory(book, good, tmp_path):
    data = bytearray(good)
    end = data.rfind(b"PK\x05\x06")
    struct.pack_into("<L", data, end + 12, 0xFFFFFFF0)
    assert "the list of its files: expected at most" in refused(book, bytes(data), tmp_path)


def test_a_length_that_is_a_lie(book, good, tmp_path):
    """The directory says shorter than it is: what comes out is no more than it says, and found wrong."""
    data = bytearray(good)
    directory = data.rfind(b"PK\x01\x02", 0, data.rfind(b"PK\x01\x02"))
    (length,) = struct.unpack_from("<L", data, directory + 24)
    struct.pack_into("<L", data, directory + 24, length // 2)
    assert refused(book, bytes(data), tmp_path)


def test_a_directory_that_points_before_the_file(book, good, tmp_path):
    data = bytearray(good)
    end = data.rfind(b"PK\x05\x06")
    struct.pack_into("<L", data, end + 16, struct.unpack_from("<L", data, end + 16)[0] + 500)
    assert refused(book, bytes(data), tmp_path)


def test_files_that_lie_on_top_of_each_other(book, members, tmp_path):
    """Many entries of the directory that share one packed piece: small file, large sum."""
    noise = bytes((i * 7919 >> 3) & 255 for i in range(200_000))
    names = [f"raw/{n:064x}" for n in range(4)]
    pairs = [*members.items(), (names[0], noise), *((name, b"") for name in names[1:])]
    data = bytearray(packed(pairs).getvalue())
    heads, at = [], 0
    while (at := data.find(b"PK\x01\x02", at)) >= 0:
        heads.append(at)
        at += 4
    whole = {bytes(data[h + 46 : h + 46 + 68]): h for h in heads}
    first = whole[names[0].encode()]
    for name in names[1:]:
        head = whole[name.encode()]
        data[head + 16 : head + 28] = data[first + 16 : first + 28]  # CRC and both lengths
        data[head + 42 : head + 46] = data[first + 42 : first + 46]  # where it begins
    assert "lie on top of each other" in refused(book, bytes(data), tmp_path)


# ---- what the manifest and the lines say


def changed(members, name, change):
    return members | {name: change(members[name])}


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
        (lambda m: m | {"format": "tapewright/bundle/2"}, "which this program does not know"),
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


def relined(members, change):
    """Change the lines, and make keys and manifest fit them."""
    lines = change(members["entries.jsonl"].split(b"\n")[:-1])
    keys = b"".join(sha(line).encode() + b"\n" for line in lines)
    return with_manifest(members | {"entries.jsonl": b"".join(line + b"\n" for line in lines), "keys.txt": keys})


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
        (lambda lines: [*lines, lines[-1].replace(HERON.encode(), b"d" * 32)], "a machine's identity before"),
        (lambda lines: lines[2:], "a machine's identity before any other line"),
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


# ---- anything at all


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=400), head=st.sampled_from([b"", b"PK\x03\x04", b"PK\x05\x06"]))
def test_random_bytes(book, tmp_path, data, head):
    assert refused(book, head + data, tmp_path)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes=st.lists(st.tuples(st.floats(0, 1), st.integers(0, 255)), min_size=1, max_size=4), cut=st.integers(0, 9))
def test_a_good_bundle_with_bytes_changed(book, good, tmp_path, changes, cut):
    data = bytearray(good)
    for place, value in changes:
        data[min(int(place * len(data)), len(data) - 1)] = value
    data = data[: len(data) - cut * (cut > 6)]
    path = tmp_path / "changed.zip"
    path.write_bytes(data)
    try:
        # some bytes of a zip mean nothing (dates, rights); then all that counts is as it was
        with ZipReader(path) as bundle:
            list(bundle.check_hashes())
            assert bundle.manifest.entries == 5
    except InputError:
        pass


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    line=st.integers(0, 4),
    place=st.floats(0, 1),
    old=st.integers(0, 12),
    new=st.sampled_from([b"", b"null", b"[]", b"1e999", b'"', b"\\ud800", b"\xc3", b"{}", b"9" * 5000, b"\n", b"NaN"]),
)
def test_lines_with_anything_in_them_and_all_hashes_made_to_fit(members, tmp_path, line, place, old, new):
    def change(lines):
        at = int(place * len(lines[line]))
        lines[line] = lines[line][:at] + new + lines[line][at + old :]
        return lines

    (tmp_path / "odd.zip").write_bytes(zipped(relined(members, change)))
    with ZipReader(tmp_path / "odd.zip") as bundle, contextlib.suppress(InputError):
        check_bundle(bundle, "odd.zip", lambda _: None)


def test_the_command_says_it_in_one_paragraph_and_leaves_no_book(good, tmp_path, capsys):
    (tmp_path / "half.zip").write_bytes(good[:-30])
    code = run(["book", "import", str(tmp_path / "half.zip"), "--book", str(tmp_path / "none.book")])
    said = capsys.readouterr()
    assert (code, said.out) == (4, "")
    assert said.err.count("\n") == 1
    assert not (tmp_path / "none.book").exists()
