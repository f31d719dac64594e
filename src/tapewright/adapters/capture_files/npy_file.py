r"""NPY: one array as numpy saves it. A row is a sample; or two columns, time and level.

Picture:

    "\x93NUMPY" version  header length  {'descr': '<f4', 'fortran_order': False, 'shape': (n,)}   samples ...

The header is read by numpy's own reader; objects (pickles) are refused, and what the header claims is held
against the size of the file before anything is reserved.
"""

import math
import os
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

from tapewright.adapters.capture_files.arrays import record_array
from tapewright.adapters.capture_files.options import Options
from tapewright.core.line.capture import Recording
from tapewright.errors import InputError

NAME = "npy"
WHAT = "NPY array: samples (n,), (n, channels) or (channels, n), or times and levels"


def looks_like(head: bytes) -> bool:
    """Say whether `head` is the beginning of an NPY file."""
    return head[:6] == b"\x93NUMPY"


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        kind, shape, fortran = read_header(file, path.name)
        offset = file.tell()
        there = os.fstat(file.fileno()).st_size - offset
    wanted = math.prod(shape) * kind.itemsize
    if wanted > there:
        raise InputError(
            path.name,
            place=f"byte {offset}",
            expected=f"{wanted} bytes for an array {shape} of {kind}",
            found=f"{there}",
            do="The file is cut short: copy it again.",
        )
    array = _map(path, kind, shape, fortran, offset)
    return record_array(array, kind="npy", source=path.name, options=options)


def read_header(file: BinaryIO, source: str) -> tuple[np.dtype[Any], tuple[int, ...], bool]:
    """Read type, shape and order; leave the file at the first sample."""
    try:
        version = np.lib.format.read_magic(file)
        reader = np.lib.format.read_array_header_1_0 if version == (1, 0) else np.lib.format.read_array_header_2_0
        shape, fortran, kind = reader(file, max_header_size=10_000)
    except (
        ValueError,
        TypeError,
        SyntaxError,
        OverflowError,
        RecursionError,
        MemoryError,
        EOFError,
        KeyError,
    ) as reason:
        raise InputError(source, place="header", expected="a NPY header", found=_short(reason)) from reason
    if kind.hasobject:
        raise InputError(
            source, place="header", expected="numbers", found="Python objects", do="Save numbers only, never pickles."
        )
    if any(length < 0 for length in shape):
        raise InputError(source, place="header", expected="a shape without negative lengths", found=str(shape))
    return kind, shape, fortran


def _map(path: Path, kind: np.dtype[Any], shape: tuple[int, ...], fortran: bool, offset: int) -> npt.NDArray[Any]:
    """Map the array from the file, so that only what is looked at is read."""
    if math.prod(shape) * kind.itemsize == 0:
        return np.empty(shape, kind)
    return np.memmap(path, dtype=kind, mode="r", offset=offset, shape=shape, order="F" if fortran else "C")


def _short(reason: BaseException) -> str:
    """Give the first line of a reason."""
    return (str(reason).splitlines() or [type(reason).__name__])[0][:200]
