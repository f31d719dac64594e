"""CSV and TSV: tables of text from logic analysers, oscilloscopes, loggers and spreadsheets."""

from collections.abc import Iterator, Sequence
from contextlib import closing
from itertools import chain
from pathlib import Path

from tapewright.errors import InputError
from tapewright.recordings.capture import Recording
from tapewright.recordings.edges.change_list import edges_of_alternating_times
from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.files.csv_columns import Columns, assign_columns, rate_in_preamble
from tapewright.recordings.files.csv_dialect import Dialect, find_dialect
from tapewright.recordings.files.csv_rows import Rows, rows_of
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.files.samples import record_samples
from tapewright.recordings.files.spool import Spool
from tapewright.recordings.files.tables import Heading, check_times, record_timed_table, with_guessed_unit

NAME = "csv"
LABEL, NEEDS_RATE = "CSV, TSV", False
WHAT = (
    "CSV, TSV and other tables of text: lists of changes, sampled logic, sampled volts; any separator, "
    "decimal point or comma, header, units and preamble or none"
)
HEAD_BYTES = 65_536
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
    columns = assign_columns(dialect, first[0][:10_000])
    names = [dialect.names[number] for number in columns.levels]
    if columns.time is None:
        return _at_a_rate(path, dialect, columns, pieces, options)
    if not names:
        return _times_alone(path, dialect, columns, pieces)
    chosen = pick_channels(names, options.channel, path.name)
    wanted = [columns.time, *(columns.levels[index] for index in chosen)]
    with closing(Spool(len(wanted))) as spool:
        _fill(spool, path, pieces, wanted, options)
        written = _written(dialect, columns.time)
        return record_timed_table(spool, Heading("csv", path.name, names, chosen, columns.second, written), options)


def _written(dialect: Dialect, time: int) -> float | None:
    """Return the last decimal that the times are written to."""
    digits = dialect.digits[time]
    return 10.0**-digits if digits else None


def _fill(spool: Spool, path: Path, pieces: Pieces, wanted: Sequence[int], options: Options) -> None:
    """Read the file once, and put the wanted columns aside."""
    size = max(1, path.stat().st_size)
    for rows, read_so_far in pieces:
        spool.add([rows[:, number] for number in wanted])
        if options.progress:
            options.progress(min(0.6, 0.6 * read_so_far / size))


def _at_a_rate(
    path: Path, dialect: Dialect, columns: Columns, pieces: Pieces, options: Options
) -> tuple[Recording, ...]:
    """Record levels without times, at a rate stated elsewhere."""
    names = [dialect.names[number] for number in columns.levels]
    rate_hz = options.rate_hz or rate_in_preamble(dialect)
    if not names:
        raise InputError(path.name, expected="a column of levels", found="numbers of rows only")
    if rate_hz is None:
        raise InputError(
            path.name,
            expected="a column of times or a sample rate",
            found=f"columns {', '.join(names[:5])} without either",
            do="Say the samples per second with --rate.",
        )
    chosen = pick_channels(names, options.channel, path.name)
    with closing(Spool(len(chosen))) as spool:
        _fill(spool, path, pieces, [columns.levels[index] for index in chosen], options)
        return record_samples(
            spool,
            RegularClock(1 / rate_hz),
            kind="csv, sampled",
            names=names,
            chosen=chosen,
            options=options,
        )


def _times_alone(path: Path, dialect: Dialect, columns: Columns, pieces: Pieces) -> tuple[Recording, ...]:
    """Record times at which the level changes; a line at rest is taken to be high before the first."""
    number = columns.time or 0
    with closing(Spool(1)) as spool:
        _fill(spool, path, pieces, [number], Options())
        times = spool.read(0, spool.count)[0]
    check_times(times, 0, path.name)
    times_s = times / (columns.second or 1.0)
    quantum = Heading("csv", path.name, (), (), columns.second, _written(dialect, number)).quantum(times)
    edges = edges_of_alternating_times(times_s, starts_high=True, quantum_s=quantum / (columns.second or 1))
    name = dialect.names[number]
    recording = Recording(edges, "csv, times of changes", name, (name,), int(times.size), None)
    return (recording if columns.second else with_guessed_unit(recording),)
