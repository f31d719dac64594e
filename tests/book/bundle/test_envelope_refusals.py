"""What is no zip, half of one, or a trap in its envelope, is refused with the reason; the book is as it was."""

import io
import stat
import struct
import zipfile

import pytest

from fakes.bundles import packed, refused, sha, with_manifest, zipped
from tapewright.book.bundle.members import Limits
from tapewright.book.bundle.zip_reader import ZipReader
from tapewright.errors import InputError


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
