"""NPZ: several named arrays, as numpy saves them in one ZIP archive: samples with their rate, or times and levels.

Arrays of one number named rate_hz, fs, dt and the like state the rate. Never a pickle, and never more than a
bounded amount is unpacked: an archive of a few megabytes can claim to hold terabytes.
"""

import math
import tempfile
import zipfile
import zlib
from contextlib import ExitStack
from pathlib import Path
from typing import IO

import numpy as np

from tapewright.errors import InputError
from tapewright.recordings.capture import Recording
from tapewright.recordings.files.columns import Column
from tapewright.recordings.files.npy_file import (
    INTERVAL_NAMES,
    RATE_NAMES,
    check_size,
    columns_of,
    first_line,
    read_header,
    record_columns,
)
from tapewright.recordings.files.options import ALLOWED_A_BYTE, ALWAYS_ALLOWED, FASTEST_HZ, SLOWEST_HZ, Options

NAME = "npz"
LABEL, NEEDS_RATE = "NPZ", False
WHAT = "NPZ archive: samples with rate_hz or dt, or times and levels"
MOST_MEMBERS = 512
IN_MEMORY = 32 << 20
# a compression this Python does not know is a RuntimeError too
_DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError)


def looks_like(head: bytes) -> bool:
    """Return whether `head` is the beginning of a ZIP archive."""
    return head[:4] in (b"PK\x03\x04", b"PK\x05\x06")


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with ExitStack() as stack:
        try:
            archive = stack.enter_context(zipfile.ZipFile(path))
        except _DAMAGED as reason:
            found = first_line(reason)
            raise InputError(path.name, expected="an archive of arrays (NPZ)", found=found) from reason
        members = [info for info in archive.infolist() if info.filename.endswith(".npy")]
        _check(members, path)
        columns: dict[str, Column] = {}
        rate_hz = None
        for info in members:
            name = info.filename.removesuffix(".npy")
            unpacked = stack.enter_context(_unpack(archive, info, path.name))
            kind, shape, fortran = read_header(unpacked, f"{path.name}, {name}")
            offset = unpacked.tell()
            check_size(kind, shape, info.file_size - offset, f"{path.name}, {name}")
            if math.prod(shape) == 1 and kind.kind in "uif" and name.casefold() in RATE_NAMES + INTERVAL_NAMES:
                stated = float(np.frombuffer(unpacked.read(kind.itemsize), kind)[0])
                rate_hz = _rate(name, stated, path.name)
            elif math.prod(shape) > 1:
                found_columns = columns_of(unpacked, offset, kind, shape, fortran, f"{path.name}, {name}")
                columns |= _named(name, found_columns)
        if not columns:
            raise InputError(path.name, expected="an array of samples", found="none of more than one number")
        return record_columns(columns, kind="npz", source=path.name, options=options, rate_hz=rate_hz)


def _check(members: list[zipfile.ZipInfo], path: Path) -> None:
    if not members or len(members) > MOST_MEMBERS:
        expected = f"an archive of 1 to {MOST_MEMBERS} arrays (NPZ)"
        raise InputError(path.name, expected=expected, found=f"{len(members)} arrays")
    unpacked = sum(info.file_size for info in members)
    allowed = ALWAYS_ALLOWED + ALLOWED_A_BYTE * path.stat().st_size
    if unpacked > allowed:
        raise InputError(
            path.name,
            expected=f"at most {allowed >> 20} MB when unpacked",
            found=f"{unpacked >> 20} MB",
            do="Save the array as .npy instead.",
        )


def _unpack(archive: zipfile.ZipFile, info: zipfile.ZipInfo, source: str) -> IO[bytes]:
    """Unpack one array to where it can be read from any place on; what a member holds beyond its claim is left."""
    out = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115  the caller closes it
    try:
        with archive.open(info) as member:
            left = info.file_size
            while left > 0 and (piece := member.read(min(1 << 20, left))):
                out.write(piece)
                left -= len(piece)
    except _DAMAGED as reason:
        out.close()
        raise InputError(f"{source}, {info.filename}", expected="an array", found=first_line(reason)) from reason
    out.seek(0)
    return out


def _rate(name: str, stated: float, source: str) -> float:
    """Return samples per second out of a stated rate or interval."""
    rate_hz = stated if name.casefold() in RATE_NAMES else 1 / stated if stated else 0.0
    if not SLOWEST_HZ <= rate_hz <= FASTEST_HZ:
        expected = f"a rate of {SLOWEST_HZ:g} to {FASTEST_HZ:g} samples a second, or its inverse"
        raise InputError(source, place=name, expected=expected, found=str(stated))
    return rate_hz


def _named(array: str, columns: dict[str, Column]) -> dict[str, Column]:
    """Name the columns after their array: itself when it has one, array 1, array 2 when it has several."""
    if len(columns) == 1:
        return {array: next(iter(columns.values()))}
    return {name if name == "time" else f"{array} {name}": column for name, column in columns.items()}
