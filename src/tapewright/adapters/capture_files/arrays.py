"""Arrays, from whatever file: which axis is time, and is there a column of times?"""

import math
from collections.abc import Mapping
from typing import IO, Any

import numpy as np

from tapewright.adapters.capture_files.columns import Array, Column, ColumnReader, OfRows, Rows
from tapewright.adapters.capture_files.options import Options, pick_channels
from tapewright.adapters.capture_files.recordings import record_samples
from tapewright.adapters.capture_files.tables import Heading, record_timed_table
from tapewright.core.line.capture import Recording
from tapewright.core.line.edges.change_list import edges_of_alternating_times
from tapewright.core.line.edges.clock import RegularClock
from tapewright.core.line.edges.quantum import decimal_quantum
from tapewright.errors import InputError

MOST_COLUMNS = 256
TIME_NAMES = ("t", "time", "times", "time_s", "t_s", "times_s", "seconds", "timestamp", "timestamps", "edges_s")
RATE_NAMES = ("rate", "rate_hz", "fs", "fs_hz", "sample_rate", "sample_rate_hz", "samplerate", "sampling_rate", "sr")
INTERVAL_NAMES = ("dt", "dt_s", "interval", "interval_s", "sample_interval", "period", "period_s", "step_s")
_LOOKED_AT = 100_000


def columns_of(
    file: IO[bytes], offset: int, kind: np.dtype[Any], shape: tuple[int, ...], fortran: bool, source: str
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
    """Say whether a column only rises and is not two-valued, as far as it is looked at."""
    if column.dtype.kind not in "uif" or column.count < 3:
        return False
    some: Array = column.read(0, min(column.count, _LOOKED_AT)).astype(np.float64)
    return bool(np.isfinite(some).all()) and bool((some[1:] > some[:-1]).all())
