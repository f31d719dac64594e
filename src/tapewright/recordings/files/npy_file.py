r"""NPY: one array as numpy saves it. A row is a sample; or the first column is the time.

Picture:

    "\x93NUMPY" version  header length  {'descr': '<f4', 'fortran_order': False, 'shape': (n,)}   samples ...

The header is read by numpy's own reader; objects (pickles) are refused, and what the header claims is held
against the size of the file before anything is reserved.

Arrays, from whatever file: which axis is time, and is there a column of times?
"""

import math
import os
import tokenize
from collections.abc import Mapping
from pathlib import Path
from typing import IO

import numpy as np

from tapewright.errors import InputError
from tapewright.recordings.capture import NumberType, Recording
from tapewright.recordings.edges.change_list import edges_of_alternating_times
from tapewright.recordings.edges.clock import RegularClock, decimal_quantum
from tapewright.recordings.files.columns import Column, ColumnReader, OfRows, Rows, plain
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.files.samples import record_samples
from tapewright.recordings.files.tables import Heading, record_timed_table

MOST_COLUMNS = 256
TIME_NAMES = ("t", "time", "times", "time_s", "t_s", "times_s", "seconds", "timestamp", "timestamps", "edges_s")
RATE_NAMES = ("rate", "rate_hz", "fs", "fs_hz", "sample_rate", "sample_rate_hz", "samplerate", "sampling_rate", "sr")
INTERVAL_NAMES = ("dt", "dt_s", "interval", "interval_s", "sample_interval", "period", "period_s", "step_s")
_LOOKED_AT = 100_000


def columns_of(
    file: IO[bytes], offset: int, kind: NumberType, shape: tuple[int, ...], fortran: bool, source: str
) -> dict[str, Column]:
    """Name the columns of an array that lies in a file; the first of several that only rises is the time."""
    if kind.names:
        rows = Rows(file, offset, kind, math.prod(shape))
        return {name: OfRows(rows, kind[name], name) for name in kind.names}
    if len(shape) == 1:
        return {"1": OfRows(Rows(file, offset, kind, shape[0]), kind)}
    if len(shape) != 2:
        raise InputError(
            source,
            place="header",
            expected="an array (n,), (n, channels) or (channels, n)",
            found=f"shape {shape}",
            do="Save one array with a row for each sample.",
        )
    across = shape[0] < shape[1]
    count, width = (shape[1], shape[0]) if across else shape
    if width > MOST_COLUMNS:
        raise InputError(source, place="header", expected=f"at most {MOST_COLUMNS} channels", found=str(width))
    if across == fortran:
        side_by_side = Rows(file, offset, np.dtype((kind, (width,))), count)
        parts: list[Column] = [OfRows(side_by_side, kind, number) for number in range(width)]
    else:
        plane = count * kind.itemsize
        parts = [OfRows(Rows(file, offset + number * plane, kind, count), kind) for number in range(width)]
    if width > 1 and _is_time(parts[0]):
        return {"time": parts[0], **{str(number): part for number, part in enumerate(parts[1:], start=1)}}
    return {str(number): part for number, part in enumerate(parts, start=1)}


def record_columns(
    columns: Mapping[str, Column], *, kind: str, source: str, options: Options, rate_hz: float | None = None
) -> tuple[Recording, ...]:
    """Record columns of equal length, one of which may be named as the time; `rate_hz` is what the file states."""
    if not columns:
        raise InputError(source, expected="at least one column of numbers", found="none")
    for name, column in columns.items():
        _check(name, column, columns, source)
    rate_hz = options.rate_hz or rate_hz
    time_name = next((name for name in columns if name.casefold() in TIME_NAMES), None)
    names = [name for name in columns if name != time_name]
    if time_name is not None and names:
        chosen = pick_channels(names, options.channel, source)
        ordered = [columns[time_name], *(columns[names[index]] for index in chosen)]
        return record_timed_table(ColumnReader(ordered), Heading(kind, source, names, chosen), options)
    names = names or [str(time_name)]
    chosen = pick_channels(names, options.channel, source)
    first = columns[names[0]]
    if rate_hz is None and len(names) == 1 and first.dtype.kind == "f" and _is_time(first):
        return (_times_alone(first, kind, names[0], source),)
    if rate_hz is None:
        raise InputError(
            source,
            expected="a sample rate",
            found="samples without one",
            do="Say the samples per second with --rate, or save the times beside the levels.",
        )
    return record_samples(
        ColumnReader([columns[names[index]] for index in chosen]),
        RegularClock(1 / rate_hz),
        kind=f"{kind}, {first.dtype.name}",
        names=names,
        chosen=chosen,
        options=options,
    )


def _times_alone(column: Column, kind: str, name: str, source: str) -> Recording:
    """Times at which the level changes; a line at rest is taken to be high before the first."""
    if column.count > 50_000_000:
        raise InputError(source, expected="at most 50 000 000 changes", found=str(column.count))
    times_s = column.read(0, column.count).astype(np.float64)
    if not (np.abs(times_s) < 1e15).all():
        raise InputError(source, place=f"column {name}", expected="times in seconds", found="a number that is none")
    edges = edges_of_alternating_times(times_s, starts_high=True, quantum_s=decimal_quantum(times_s))
    return Recording(edges, f"{kind}, times of changes", name, (name,), int(times_s.size), None)


def _check(name: str, column: Column, columns: Mapping[str, Column], source: str) -> None:
    place = f"column {name}"
    if column.dtype.kind not in "buif" or column.dtype.shape:
        raise InputError(source, place=place, expected="one number or truth value a row", found=str(column.dtype))
    longest = max(each.count for each in columns.values())
    if column.count != longest:
        raise InputError(source, place=place, expected=f"{longest} numbers, as beside it", found=str(column.count))
    if not longest:
        raise InputError(source, place=place, expected="samples", found="none")


def _is_time(column: Column) -> bool:
    """Return whether a column only rises and is not two-valued, as far as it is looked at."""
    if column.dtype.kind not in "uif" or column.count < 3:
        return False
    some = plain(column.read(0, min(column.count, _LOOKED_AT))).astype(np.float64)
    return bool(np.isfinite(some).all()) and bool((some[1:] > some[:-1]).all())


NAME = "npy"
LABEL, NEEDS_RATE = "NPY", False
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
    """Return whether `head` is the beginning of an NPY file."""
    return head[:6] == b"\x93NUMPY"


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        kind, shape, fortran = read_header(file, path.name)
        offset = file.tell()
        check_size(kind, shape, os.fstat(file.fileno()).st_size - offset, path.name)
        columns = columns_of(file, offset, kind, shape, fortran, path.name)
        return record_columns(columns, kind="npy", source=path.name, options=options)


def read_header(file: IO[bytes], source: str) -> tuple[NumberType, tuple[int, ...], bool]:
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


def check_size(kind: NumberType, shape: tuple[int, ...], there: int, source: str) -> None:
    """Hold what the header claims against the bytes that are there."""
    wanted = math.prod(shape) * kind.itemsize
    if wanted > there:
        expected = f"{wanted} bytes for an array {shape} of {kind}"
        do = "The file is cut short: copy it again."
        raise InputError(source, place="samples", expected=expected, found=str(max(0, there)), do=do)


def first_line(reason: BaseException) -> str:
    """Return the first line of a reason."""
    return (str(reason).splitlines() or [type(reason).__name__])[0][:200].rstrip(".")
