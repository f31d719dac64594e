"""CSV and TSV: tables of text from logic analysers, oscilloscopes, loggers and spreadsheets."""

from collections.abc import Iterator, Sequence
from contextlib import closing
from itertools import chain
from pathlib import Path

import numpy as np

from tapewright.errors import InputError
from tapewright.recordings.capture import Recording
from tapewright.recordings.edges.change_list import edges_of_alternating_times
from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.files.csv_columns import Columns, assign_columns, begin_in_preamble, rate_in_preamble
from tapewright.recordings.files.csv_dialect import Dialect, find_dialect
from tapewright.recordings.files.csv_rows import Rows, rows_of
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.files.samples import Spool, record_samples
from tapewright.recordings.files.tables import (
    Heading,
    check_times,
    is_change_list,
    record_timed_table,
    with_guessed_unit,
)

NAME = "csv"
LABEL, NEEDS_RATE = "CSV, TSV", False
WHAT = (
    "CSV, TSV and other tables of text: lists of changes or of durations, sampled logic, hexadecimal words, sampled "
    "volts; any separator, decimal point or comma, header, units and preamble or none, segments"
)
HEAD_BYTES = 65_536
ROWS_TO_JUDGE = 10_000
Pieces = Iterator[tuple[Rows, int]]


def looks_like(head: bytes) -> bool:
    """Return whether `head` is the beginning of a table of numbers."""
    return find_dialect(head, whole=len(head) < HEAD_BYTES) is not None


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    dialect = find_dialect(head, whole=len(head) < HEAD_BYTES)
    pieces: Pieces = iter(()) if dialect is None else rows_of(path, dialect)
    first = next(pieces, None)
    if dialect is None or first is None:
        raise InputError(path.name, expected="rows of numbers", found="none", do="Export the recording again.")
    pieces = chain([first], pieces)
    some = first[0][:ROWS_TO_JUDGE]
    columns = assign_columns(dialect, some)
    if columns.time is None:
        return _at_a_rate(path, dialect, columns, pieces, options)
    if not columns.names:
        return _times_alone(path, dialect, columns, pieces)
    chosen = pick_channels(columns.names, options.channel, path.name)
    with closing(Spool(1 + len(chosen))) as spool:
        _fill(spool, path, pieces, columns, chosen, options)
        heading = Heading(
            "csv",
            path.name,
            columns.names,
            chosen,
            columns.second,
            _written(dialect, columns.time),
            # of all its levels, chosen or not: each row may be a change of another one
            changes=columns.lasts or is_change_list(columns.levels_of(some, range(len(columns.names)))),
            end=columns.end,
        )
        return record_timed_table(spool, heading, options)


def _written(dialect: Dialect, time: int) -> float | None:
    """Return the last decimal that the times are written to."""
    digits = dialect.digits[time]
    return 10.0**-digits if digits else None


def _fill(spool: Spool, path: Path, pieces: Pieces, columns: Columns, chosen: Sequence[int], options: Options) -> None:
    """Read the file once, and put times and wanted levels aside."""
    size = max(1, path.stat().st_size)
    for rows, read_so_far in pieces:
        spool.add([*columns.times_of(rows), *columns.levels_of(rows, chosen)])
        if options.progress:
            options.progress(min(0.6, 0.6 * read_so_far / size))


def _at_a_rate(
    path: Path, dialect: Dialect, columns: Columns, pieces: Pieces, options: Options
) -> tuple[Recording, ...]:
    """Record levels without times, at a rate stated elsewhere."""
    rate_hz = options.rate_hz or rate_in_preamble(dialect)
    if not columns.names:
        raise InputError(path.name, expected="a column of levels", found="numbers of rows only")
    if rate_hz is None:
        raise InputError(
            path.name,
            expected="a column of times or a sample rate",
            found=f"columns {', '.join(columns.names[:5])} without either",
            do="Say the samples per second with --rate.",
        )
    chosen = pick_channels(columns.names, options.channel, path.name)
    with closing(Spool(len(chosen))) as spool:
        _fill(spool, path, pieces, columns, chosen, options)
        return record_samples(
            spool,
            RegularClock(1 / rate_hz, begin_in_preamble(dialect)),
            kind="csv, sampled",
            names=columns.names,
            chosen=chosen,
            options=options,
        )


def _times_alone(path: Path, dialect: Dialect, columns: Columns, pieces: Pieces) -> tuple[Recording, ...]:
    """Record times at which the level changes; a line at rest is taken to be high before the first."""
    times = np.concatenate([columns.times_of(rows)[0] for rows, _ in pieces])
    check_times(times, 0, path.name)
    second = columns.second or 1.0
    quantum = Heading("csv", path.name, (), (), second, _written(dialect, columns.time or 0)).quantum(times)
    edges = edges_of_alternating_times(times / second, starts_high=True, quantum_s=quantum / second)
    name = dialect.names[columns.time or 0]
    recording = Recording(edges, "csv, times of changes", name, (name,), int(times.size), None)
    return (recording if columns.second else with_guessed_unit(recording),)
