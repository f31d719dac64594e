r"""NPY: one array as numpy saves it. A row is a sample; or the first column is the time.

Picture:

    "\x93NUMPY" version  header length  {'descr': '<f4', 'fortran_order': False, 'shape': (n,)}   samples ...

The header is read by numpy's own reader; objects (pickles) are refused, and what the header claims is held
against the size of the file before anything is reserved.
"""

import math
import os
import tokenize
from pathlib import Path
from typing import IO, Any

import numpy as np

from tapewright.adapters.capture_files.arrays import columns_of, record_columns
from tapewright.adapters.capture_files.options import Options
from tapewright.core.line.capture import Recording
from tapewright.errors import InputError

NAME = "npy"
WHAT = "NPY array: samples (n,), (n, channels) or (channels, n), or times and levels"
#: what numpy's header reader and Python's literal reader may raise on damaged headers
DAMAGED = (
    ValueError,
    TypeError,
    SyntaxError,
    OverflowError,
    RecursionError,
    MemoryError,
    EOFError,
    KeyError,
    tokenize.TokenError,
)


def looks_like(head: bytes) -> bool:
    """Say whether `head` is the beginning of an NPY file."""
    return head[:6] == b"\x93NUMPY"


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        kind, shape, fortran = read_header(file, path.name)
        offset = file.tell()
        check_size(kind, shape, os.fstat(file.fileno()).st_size - offset, path.name)
        columns = columns_of(file, offset, kind, shape, fortran, path.name)
        return record_columns(columns, kind="npy", source=path.name, options=options)


def read_header(file: IO[bytes], source: str) -> tuple[np.dtype[Any], tuple[int, ...], bool]:
    """Read type, shape and order; leave the file at the first sample."""
    try:
        version = np.lib.format.read_magic(file)
        reader = np.lib.format.read_array_header_1_0 if version == (1, 0) else np.lib.format.read_array_header_2_0
        shape, fortran, kind = reader(file, max_header_size=10_000)
    except DAMAGED as reason:
        raise InputError(source, place="header", expected="an NPY header", found=first_line(reason)) from reason
    if kind.hasobject:
        do = "Save numbers only, never pickles."
        raise InputError(source, place="header", expected="numbers", found="Python objects", do=do)
    if any(length < 0 for length in shape) or kind.itemsize == 0:
        found = f"shape {shape} of {kind}"
        raise InputError(source, place="header", expected="a shape and a type with a size", found=found)
    return kind, shape, fortran


def check_size(kind: np.dtype[Any], shape: tuple[int, ...], there: int, source: str) -> None:
    """Hold what the header claims against the bytes that are there."""
    wanted = math.prod(shape) * kind.itemsize
    if wanted > there:
        expected = f"{wanted} bytes for an array {shape} of {kind}"
        do = "The file is cut short: copy it again."
        raise InputError(source, place="samples", expected=expected, found=str(max(0, there)), do=do)


def first_line(reason: BaseException) -> str:
    """Give the first line of a reason."""
    return (str(reason).splitlines() or [type(reason).__name__])[0][:200].rstrip(".")
