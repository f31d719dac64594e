"""Arrays, from whatever file: which axis is time, and is there a column of times?"""

from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.adapters.capture_files.options import Options, pick_channels
from tapewright.adapters.capture_files.recordings import record_samples
from tapewright.adapters.capture_files.samples import InMemory
from tapewright.adapters.capture_files.tables import Heading, record_timed_table
from tapewright.core.line.capture import Recording
from tapewright.core.line.edges.change_list import edges_of_alternating_times
from tapewright.core.line.edges.clock import RegularClock
from tapewright.core.line.edges.quantum import decimal_quantum
from tapewright.errors import InputError

Array = npt.NDArray[Any]
MOST_COLUMNS = 256
TIME_NAMES = ("t", "time", "times", "time_s", "t_s", "seconds", "timestamp", "timestamps")


def record_array(array: Array, *, kind: str, source: str, options: Options) -> tuple[Recording, ...]:
    """Record one array: structured, (n,), (n, columns) or (columns, n)."""
    if array.dtype.names:
        fields = {name: array[name] for name in array.dtype.names}
        return record_columns(fields, kind=kind, source=source, options=options)
    if array.ndim == 2:
        if array.shape[0] < array.shape[1]:
            array = array.T
        if array.shape[1] > MOST_COLUMNS:
            raise InputError(source, expected=f"at most {MOST_COLUMNS} channels", found=str(array.shape[1]))
        columns = {str(number + 1): array[:, number] for number in range(array.shape[1])}
        if array.shape[1] > 1 and array.shape[0] > 1 and _only_rises(array[:, 0]) and not _two_valued(array[:, 0]):
            columns = {"time": array[:, 0], **{str(number): array[:, number] for number in range(1, array.shape[1])}}
        return record_columns(columns, kind=kind, source=source, options=options)
    if array.ndim != 1:
        raise InputError(
            source,
            place="header",
            expected="an array (n,), (n, channels) or (channels, n)",
            found=f"shape {array.shape}",
            do="Save one array with a row for each sample.",
        )
    return record_columns({"1": array}, kind=kind, source=source, options=options)


def record_columns(columns: dict[str, Array], *, kind: str, source: str, options: Options) -> tuple[Recording, ...]:
    """Record columns of equal length, one of which may be named as the time."""
    for name, column in columns.items():
        _check_numbers(name, column, source)
    time_name = next((name for name in columns if name.casefold() in TIME_NAMES), None)
    names = [name for name in columns if name != time_name]
    if time_name is not None and names:
        chosen = pick_channels(names, options.channel, source)
        ordered = [columns[time_name], *(columns[names[index]] for index in chosen)]
        heading = Heading(kind, source, names, chosen)
        return record_timed_table(_ArrayReader(ordered), heading, options)
    names = names or [str(time_name)]
    chosen = pick_channels(names, options.channel, source)
    first = columns[names[0]]
    if options.rate_hz is None and len(names) == 1 and first.dtype.kind == "f" and _only_rises(first):
        return (_times_alone(np.asarray(first, dtype=float), kind, names[0]),)
    if options.rate_hz is None:
        raise InputError(
            source,
            expected="a sample rate",
            found="samples without one",
            do="Say the samples per second with --rate, or save the times beside the levels.",
        )
    return record_samples(
        _ArrayReader([columns[names[index]] for index in chosen]),
        RegularClock(1 / options.rate_hz),
        kind=f"{kind}, {first.dtype.name}",
        names=names,
        chosen=chosen,
        options=options,
    )


def _times_alone(times_s: Array, kind: str, name: str) -> Recording:
    """Times at which the level changes, beginning from low: the idle level is judged later."""
    edges = edges_of_alternating_times(times_s, starts_high=True, quantum_s=decimal_quantum(times_s))
    return Recording(edges, f"{kind}, times of changes", name, (name,), int(times_s.size), None)


class _ArrayReader(InMemory):
    """Columns read a piece at a time, as numbers numpy can order."""

    def read(self, first: int, count: int) -> list[Array]:
        """Give `count` samples of each column from number `first` on."""
        return [_plain(np.asarray(column[first : first + count])) for column in self.columns]


def _plain(column: Array) -> Array:
    """Give a contiguous array in the byte order of this machine; truth values as 0 and 1."""
    if column.dtype.kind == "b":
        return np.ascontiguousarray(column).view(np.uint8)
    if column.dtype == np.float16 or column.dtype.itemsize > 8:
        return column.astype(np.float64)
    return np.ascontiguousarray(column, dtype=column.dtype.newbyteorder("="))


def _check_numbers(name: str, column: Array, source: str) -> None:
    if column.dtype.kind not in "buif":
        raise InputError(source, place=f"column {name}", expected="numbers or truth values", found=str(column.dtype))
    if column.ndim != 1:
        raise InputError(source, place=f"column {name}", expected="one number a row", found=f"shape {column.shape}")


def _only_rises(column: Array) -> bool:
    """Say whether a column rises all the way (looked at in up to a million places)."""
    some = np.asarray(column[:1_000_000], dtype=float)
    return some.size > 1 and bool(np.isfinite(some).all()) and bool((np.diff(some) > 0).all())


def _two_valued(column: Array) -> bool:
    return np.unique(np.asarray(column[:100_000])).size <= 2
