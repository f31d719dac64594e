r"""Tables, from whatever file: a column of times (or none) and columns of levels.

Picture of the choice:

    levels are two-valued and most rows change one  ->  list of changes: the time is the edge
    one column that only rises                      ->  times alone: the level changes at each
    else                                            ->  samples, at a regular rate or at the times written
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError
from tapewright.recordings.capture import FloatArray, RawEdges, Recording, Suspicion
from tapewright.recordings.edges.change_list import CHANGE_SHARE, edges_of_changes, is_two_valued, share_of_changes
from tapewright.recordings.edges.clock import Clock, TimeSurvey, decimal_quantum
from tapewright.recordings.files.options import Options
from tapewright.recordings.files.samples import ClosableReader, record_samples

PIECE = 1 << 19
#: rows looked at to tell a list of changes from samples
ROWS_TO_JUDGE = 100_000
#: recorders of changes count in steps as fine as this; coarser ones are held against the digits written
FINE_S = 1e-5
#: changes held in memory, at the most
MOST_CHANGES = 20_000_000


@dataclass(frozen=True, slots=True)
class Heading:
    """What is known about the columns of a table.

    Attributes:
        kind: the format, for example "csv".
        source: the file's name.
        names: names of the level columns.
        chosen: the level columns wanted.
        second: one second in the unit of the time column; None when the unit is not stated.
        written: the last decimal that all times are written to, in their unit; None when that is not known.
        changes: whether the rows were written change by change; None to judge by the levels chosen.
        end: when the last level of a list of changes ends, in the unit of the times; None when that is not stated.
    """

    kind: str
    source: str
    names: Sequence[str]
    chosen: Sequence[int]
    second: float | None = 1.0
    written: float | None = None
    changes: bool | None = None
    end: float | None = None

    def quantum(self, times: npt.NDArray[np.float64]) -> float:
        """Return the step of the printed times: ideal ones may lie on far coarser marks than they are written to."""
        found = decimal_quantum(times)
        fine = found <= FINE_S * (self.second or 1.0)
        return found if fine or self.written is None else min(found, self.written)


class WrittenClock:
    """Each sample was taken at the time written beside it."""

    def __init__(self, reader: ClosableReader, second: float) -> None:
        self._reader, self._second = reader, second

    def _at_rows(self, rows: npt.NDArray[np.int64]) -> FloatArray:
        """Read the times of some rows, a piece at a time."""
        out = np.empty(rows.size)
        order = np.argsort(rows, kind="stable")
        ordered = rows[order]
        for first in range(0, self._reader.count, PIECE):
            begin, end = np.searchsorted(ordered, [first, first + PIECE])
            if begin < end:
                times = self._reader.read(first, min(PIECE, self._reader.count - first))[0]
                out[order[begin:end]] = times[ordered[begin:end] - first]
        return out / self._second

    def seconds(self, at: FloatArray) -> FloatArray:
        """Return the time of sample numbers, along the straight line between the samples about each."""
        before, after = self._neighbours(at)
        f = at - np.floor(at)
        return before * (1 - f) + after * f

    def intervals_s(self, at: FloatArray) -> FloatArray:
        """Return the interval between the samples about each."""
        before, after = self._neighbours(at)
        return np.abs(after - before)

    def _neighbours(self, at: FloatArray) -> tuple[FloatArray, FloatArray]:
        last = self._reader.count - 1
        rows = np.clip(np.floor(at).astype(np.int64), 0, last)
        return self._at_rows(rows), self._at_rows(np.minimum(rows + 1, last))


class _Columns:
    """The level columns of a reader whose first column is the time."""

    def __init__(self, reader: ClosableReader) -> None:
        self._reader = reader
        self.count, self.channels = reader.count, reader.channels - 1

    def read(self, first: int, count: int) -> list[npt.NDArray[np.float64]]:
        return self._reader.read(first, count)[1:]

    def close(self) -> None:
        """The time is still needed; whoever made the reader closes it."""


def record_timed_table(reader: ClosableReader, heading: Heading, options: Options) -> tuple[Recording, ...]:
    """Record a table whose first column is the time; the others are the chosen levels."""
    try:
        return _record_timed(reader, heading, options)
    finally:
        reader.close()


def _record_timed(reader: ClosableReader, heading: Heading, options: Options) -> tuple[Recording, ...]:
    some = reader.read(0, min(reader.count, ROWS_TO_JUDGE))
    if is_change_list(some[1:]) if heading.changes is None else heading.changes:
        return _record_changes(reader, heading)
    second = heading.second or 1.0
    time_survey = TimeSurvey(decimal_quantum(some[0]) / second)
    for first in range(0, reader.count, PIECE):
        times = reader.read(first, min(PIECE, reader.count - first))[0]
        check_times(times, first, heading.source)
        time_survey.feed(times / second)
    found = time_survey.found()
    clock: Clock = found.clock or WrittenClock(reader, second)
    suspicions = found.suspicions
    recordings = record_samples(
        _Columns(reader),
        clock,
        kind=f"{heading.kind}, {'sampled' if found.clock else 'irregularly sampled'}",
        names=heading.names,
        chosen=heading.chosen,
        options=options,
        suspicions=suspicions,
        missing=found.missing,
    )
    if heading.second is None:
        return tuple(with_guessed_unit(recording) for recording in recordings)
    return recordings


def is_change_list(columns: Sequence[npt.NDArray[np.float64]]) -> bool:
    """Return whether these rows, shape (n,) a column, were written change by change."""
    filled = [np.asarray(column, dtype=float) for column in columns]
    if not filled or not filled[0].size or not all(map(is_two_valued, filled)):
        return False
    return filled[0].size <= 2 or share_of_changes(filled) >= CHANGE_SHARE


def _record_changes(reader: ClosableReader, heading: Heading) -> tuple[Recording, ...]:
    if reader.count > MOST_CHANGES:
        raise InputError(
            heading.source,
            expected=f"a list of at most {MOST_CHANGES} changes",
            found=f"{reader.count}",
            do="Cut the recording in parts.",
        )
    times, *columns = reader.read(0, reader.count)
    check_times(times, 0, heading.source)
    second = heading.second or 1.0
    # a list of ideal edges may lie on whole hundredths; no recorder of edges is that coarse
    quantum_s = min(heading.quantum(times) / second, COARSEST_S if heading.second else math.inf)
    made = []
    for index, column in zip(heading.chosen, columns, strict=True):
        edges = edges_of_changes(
            times / second,
            column,
            quantum_s=quantum_s,
            end_s=None if heading.end is None else heading.end / second,
            first_is_state=None if heading.end is None else True,
        )
        recording = Recording(
            edges=edges,
            kind=f"{heading.kind}, list of changes",
            channel=heading.names[index],
            channels=tuple(heading.names),
            samples=reader.count,
            rate_hz=None,
        )
        made.append(with_guessed_unit(recording) if heading.second is None else recording)
    return tuple(made)


def check_times(times: npt.NDArray[np.float64], first: int, source: str) -> None:
    """Refuse a time that is no number, or one beyond all use."""
    strange = np.flatnonzero(~(np.abs(times) < 1e15))
    if strange.size:
        raise InputError(
            source,
            place=f"data row {first + int(strange[0]) + 1}",
            expected="a time",
            found=f"{times[strange[0]]}",
            do="Take the row out, or export the recording again.",
        )


#: the coarsest step in which edges are taken to be written (clocks of small computers count milliseconds)
COARSEST_S = 1e-3
#: seconds in the units tried, the likeliest first, when a file states none
UNITS = ((1.0, "s"), (1e-3, "ms"), (1e-6, "us"), (1e-9, "ns"))
#: teleprinters change level every 5 to 500 ms or so
PLAUSIBLE_S = (0.002, 1.5)


def with_guessed_unit(recording: Recording) -> Recording:
    """Take the times, read as seconds, in the unit that makes the pulses as long as a teleprinter's."""
    edges = recording.edges
    if edges.times_s.size < 3:
        return recording
    usual = float(np.quantile(np.diff(edges.times_s), 0.75))
    for scale, unit in UNITS:
        if PLAUSIBLE_S[0] <= usual * scale <= PLAUSIBLE_S[1]:
            return recording if scale == 1.0 else _scaled(recording, scale, unit)
    return recording


def _scaled(recording: Recording, scale: float, unit: str) -> Recording:
    edges: RawEdges = recording.edges
    said = Suspicion(
        "unit of time not stated",
        f"taken as {unit}, because then the pulses are as long as a teleprinter's",
        f"Write the unit in the header, for example 'time ({unit})'.",
    )
    scaled = replace(
        edges,
        times_s=edges.times_s * scale,
        u_s=edges.u_s * scale,
        begin_s=edges.begin_s * scale,
        end_s=edges.end_s * scale,
        missing=edges.missing * scale,
        suspicions=(*edges.suspicions, said),
    )
    rate = None if recording.rate_hz is None else recording.rate_hz / scale
    return replace(recording, edges=scaled, rate_hz=rate)
