"""The outside of a zip: is it one, is it whole, is anything in it that must not be there? Before a byte is unpacked.

Numbers of fields are those of the published ZIP description (section 4.3.16, end of central directory record, and
4.3.14, its zip64 form; from memory).
"""

import stat
import struct
import zipfile
from typing import BinaryIO

from tapewright.book.bundle.members import GIB, Limits, what_is_wrong_with
from tapewright.errors import InputError

FIRST_MARK, END_MARK, END64_MARK = b"PK\x03\x04", b"PK\x05\x06", b"PK\x06\x06"
END_BYTES, LONGEST_COMMENT = 22, 65535
#: more than this much of the directory for each member is no directory of ours
DIRECTORY_BYTES_EACH = 512
ENCRYPTED_FLAGS = 0x1 | 0x40 | 0x2000
PACKINGS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
NOTHING_DONE = "Nothing was taken in."


def check_end(file: BinaryIO, said: str, limits: Limits) -> None:
    """See that the file is a whole zip whose directory is not too large to be read into memory.

    Raises:
        InputError: when it is not.
    """
    head = file.read(4)
    length = file.seek(0, 2)
    file.seek(max(0, length - END_BYTES - LONGEST_COMMENT))
    tail = file.read()
    end = tail.rfind(END_MARK)
    if end < 0:
        if head == FIRST_MARK:
            raise _refusal(said, "", "a whole zip", "the first part of one: the end is missing", "Copy the file again.")
        raise _refusal(said, "", "a bundle (a zip file)", "a file of another kind" if length else "an empty file")
    if len(tail) - end < END_BYTES:
        raise _refusal(said, "", "a whole zip", "one whose last bytes are missing", "Copy the file again.")
    (directory_bytes,) = struct.unpack_from("<L", tail, end + 12)
    if directory_bytes == 0xFFFFFFFF and (end64 := tail.rfind(END64_MARK)) >= 0 and len(tail) - end64 >= 48:
        (directory_bytes,) = struct.unpack_from("<Q", tail, end64 + 40)
    most = limits.members * DIRECTORY_BYTES_EACH
    if directory_bytes > most:
        raise _refusal(said, "the list of its files", f"at most {most} bytes of it", f"{directory_bytes}")
    file.seek(0)


def check_members(archive: zipfile.ZipFile, said: str, limits: Limits) -> dict[str, zipfile.ZipInfo]:
    """See that all members may be in a bundle and are not too large; give them by name.

    Raises:
        InputError: at the first that may not.
    """
    infos = archive.infolist()
    if len(infos) > limits.members:
        raise _refusal(said, "", f"at most {limits.members} files", f"{len(infos)}")
    found: dict[str, zipfile.ZipInfo] = {}
    for info in infos:
        name = info.orig_filename
        _check_kind(info, name, said)
        if name in found:
            raise _refusal(said, _shown(name), "every name once", "two files of this name")
        found[name] = info
    _check_sizes(infos, said, limits)
    if archive.fp is not None and sum(info.compress_size for info in infos) > archive.fp.seek(0, 2):
        raise _refusal(said, "", "files one after the other", "files that lie on top of each other")
    return found


def _check_kind(info: zipfile.ZipInfo, name: str, said: str) -> None:
    kind = stat.S_IFMT(info.external_attr >> 16)
    if stat.S_ISLNK(kind):
        raise _refusal(said, _shown(name), "plain files", "a link to another place")
    wrong = what_is_wrong_with(name)
    if wrong:
        raise _refusal(said, _shown(name), "only the files of a bundle", wrong)
    if kind not in (0, stat.S_IFREG):
        raise _refusal(said, _shown(name), "plain files", "something that is no plain file")
    if info.flag_bits & ENCRYPTED_FLAGS:
        raise _refusal(
            said, _shown(name), "files that can be read", "an encrypted one", "Ask for it without a password."
        )
    if info.compress_type not in PACKINGS:
        raise _refusal(said, _shown(name), "files stored or deflated", f"packing number {info.compress_type}")


def _check_sizes(infos: list[zipfile.ZipInfo], said: str, limits: Limits) -> None:
    total = sum(info.file_size for info in infos)
    if total > limits.total_bytes:
        raise _refusal(
            said,
            "",
            f"at most {limits.total_bytes / GIB:g} GiB unpacked",
            f"{total / GIB:.4g} GiB",
            "If you trust it, allow more with --largest.",
        )
    for info in infos:
        if info.file_size > limits.ratio_from_bytes and info.file_size > limits.ratio * info.compress_size:
            found = f"{info.compress_size} bytes that would become {info.file_size}"
            raise _refusal(said, _shown(info.orig_filename), f"files packed at most {limits.ratio} times", found)


def _shown(name: str) -> str:
    """Write a name so that it can do no harm in a terminal."""
    text = name.encode("unicode_escape").decode()
    return text if len(text) <= 80 else text[:77] + "..."


def _refusal(said: str, place: str, expected: str, found: str, do: str = "") -> InputError:
    return InputError(said, place=place, expected=expected, found=found, do=f"{do} {NOTHING_DONE}".strip())
