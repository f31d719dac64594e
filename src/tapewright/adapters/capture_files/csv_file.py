"""CSV and TSV: tables of text from logic analysers, oscilloscopes, loggers and spreadsheets."""

from pathlib import Path

from tapewright.adapters.capture_files.csv_columns import Columns, assign_columns, rate_in_preamble
from tapewright.adapters.capture_files.csv_dialect import Dialect, find_dialect
from tapewright.adapters.capture_files.csv_rows import rows_of
from tapewright.adapters.capture_files.options import Options, pick_channels
from tapewright.adapters.capture_files.recordings import record_samples
from tapewright.adapters.capture_files.spool import Spool
from tapewright.adapters.capture_files.tables import Heading, record_timed_table
from tapewright.core.line.capture import Recording
from tapewright.core.line.edges.change_list import edges_of_alternating_times
from tapewright.core.line.edges.clock import RegularClock
from tapewright.core.line.edges.quantum import decimal_quantum
from tapewright.errors import InputError

NAME = "csv"
WHAT = (
    "CSV, TSV and other tables of text: lists of changes, sampled logic, sampled volts; any separator, "
    "decimal point or comma, header, units and preamble or none"
)
HEAD_BYTES = 65_536


def looks_like(head: bytes) -> bool:
    """Say whether `head` is the beginning of a table of numbers."""
    return find_dialect(head, whole=len(head) < HEAD_BYTES) is not None


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    dialect = find_dialect(head, whole=len(head) < HEAD_BYTES)
    if dialect is None:
        raise InputError(path.name, expected="a table of numbers", found="none")
    pieces = rows_of(path, dialect)
    first = next(pieces, None)
    if first is None:
        raise InputError(path.name, expected="rows of numbers", found="none", do="Export the recording again.")
    columns = assign_columns(dialect, first[0][:10_000])
    names = [dialect.names[number] for number in columns.levels]
    if columns.time is None or not names:
        return _without_time(path, dialect, columns, options)
    chosen = pick_channels(names, options.channel, path.name)
    wanted = [columns.time, *(columns.levels[index] for index in chosen)]
    spool = Spool(len(wanted))
    spool.add([first[0][:, number] for number in wanted])
    size = path.stat().st_size
    for rows, read_so_far in pieces:
        spool.add([rows[:, number] for number in wanted])
        if options.progress:
            options.progress(min(0.5, 0.5 * read_so_far / size))
    heading = Heading("csv", path.name, names, chosen, columns.second)
    return record_timed_table(spool.reader(), heading, options)


def _without_time(path: Path, dialect: Dialect, columns: Columns, options: Options) -> tuple[Recording, ...]:
    """Record levels at a rate stated elsewhere, or bare times of changes."""
    rate_hz = options.rate_hz or rate_in_preamble(dialect)
    names = [dialect.names[number] for number in columns.levels or (columns.time or 0,)]
    chosen = pick_channels(names, options.channel, path.name)
    numbers = columns.levels or (columns.time or 0,)
    spool = Spool(len(chosen))
    for rows, _ in rows_of(path, dialect):
        spool.add([rows[:, numbers[index]] for index in chosen])
    reader = spool.reader()
    if not columns.levels:
        times = reader.read(0, reader.count)[0] / (columns.second or 1.0)
        edges = edges_of_alternating_times(times, starts_high=True, quantum_s=decimal_quantum(times))
        reader.close()
        return (Recording(edges, "csv, times of changes", names[0], tuple(names), reader.count, None),)
    if rate_hz is None:
        raise InputError(
            path.name,
            expected="a column of times or a sample rate",
            found=f"columns {', '.join(names[:5])} without either",
            do="Say the samples per second with --rate.",
        )
    return record_samples(
        reader,
        RegularClock(1 / rate_hz),
        kind="csv, sampled",
        names=names,
        chosen=chosen,
        options=options,
    )
