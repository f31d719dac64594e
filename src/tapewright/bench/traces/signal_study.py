"""A line capture and a coil current as their pages draw them: the trace, every character and every instant on it."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.bench.traces.sampled import SampledTrace, SteppedTrace, Trace, take_samples
from tapewright.book.entry import Entry
from tapewright.book.ports import Book
from tapewright.errors import InputError
from tapewright.line.document import LineResult, LineTrace
from tapewright.line.from_settings import DEFAULTS, measure
from tapewright.line.read import LineReport
from tapewright.recordings.files.read import read_recordings

Arrays = Mapping[str, npt.NDArray[Any]]


@dataclass(frozen=True, slots=True, eq=False)
class LineStudy:
    """What the page asks for again and again.

    Attributes:
        trace: the recording.
        marks: arrays of the characters (start_s, unit_ms, unit_u_ms), of the instants (at_s, late_ms, own_ms, contact,
            closing, character) and of what is wrong in between (dropout_s, dropout_ms, missing_s).
        head: unit_ms, elements, mark_is_high, begin_s, end_s.
        size_bytes: what it takes.
    """

    trace: Trace
    marks: Arrays
    head: Mapping[str, Any]
    size_bytes: int

    def close(self) -> None:
        """Let go of the samples on disk."""
        self.trace.close()


def study_line(book: Book, entry: Entry, folder: Path) -> LineStudy:
    """Work it out from the raw file in the book, the way the evidence was measured.

    Raises:
        InputError: when the entry is no line evidence with its raw file.
    """
    raw = folder / "raw"
    try:
        with book.raw(raw_file_of(entry)) as source, raw.open("wb") as copy:
            shutil.copyfileobj(source, copy, 1 << 22)
        return study_file(entry.new.body, raw, folder)
    finally:
        raw.unlink(missing_ok=True)


def study_file(body: Mapping[str, Any], raw: Path, folder: Path) -> LineStudy:
    """Work it out from the raw file."""
    settings = settings_of(body)
    report = measure({"capture": raw}, settings, fingerprint=False)
    trace = _trace(raw, report, settings, folder)
    marks, head = marks_of(report.result)
    size = sum(array.nbytes for array in marks.values())
    if isinstance(trace, SampledTrace):
        size += trace.pyramid.size_bytes + trace.pyramid.count * trace.dtype.itemsize
    return LineStudy(trace, marks, {"begin_s": trace.begin_s, "end_s": trace.end_s, **head}, size)


def raw_file_of(entry: Entry) -> str:
    """Return the fingerprint of the capture behind a piece of line evidence."""
    sha256 = entry.new.body.get("result", {}).get("source", {}).get("sha256")
    if entry.new.body.get("sort") != "line" or sha256 not in entry.new.files:
        raise InputError("the book", expected="a line capture with its raw file", found=f"line {entry.key[:12]}")
    return str(sha256)


def settings_of(body: Mapping[str, Any]) -> dict[str, object]:
    """Return how the capture was read, as it stands beside the result; what was sent changes no instant."""
    said = body.get("steps", {}).get("settings", {})
    return {name: said[name] for name in DEFAULTS if name in said and name != "expect"}


def _trace(raw: Path, report: LineReport, settings: Mapping[str, Any], folder: Path) -> Trace:
    taken: list[SampledTrace] = []

    def tap(reader: Any, clock: Any, _: tuple[str, ...]) -> None:
        taken.append(take_samples(reader, clock, folder / "samples", lambda _: None))

    channel = report.recording.channel if len(report.recording.channels) > 1 else None
    read_recordings(raw, channel=channel, rate_hz=settings.get("rate"), tap=tap)
    return taken[0] if taken else SteppedTrace(report.recording.edges)


def marks_of(result: LineResult) -> tuple[Arrays, dict[str, object]]:
    """Return every character and every instant as arrays."""
    trace, unit_ms = result.trace, result.speed.unit_ms.value
    if trace is None or unit_ms is None:
        return {"start_s": np.empty(0), "at_s": np.empty(0)}, {"unit_ms": None, "elements": result.settings.elements}
    instants, frames = trace.instants, trace.frames
    contact = instants.boundary - ~instants.to_mark
    arrays: dict[str, npt.NDArray[Any]] = {
        "start_s": frames.start_s,
        "unit_ms": _short(1e3 * trace.speeds.unit_s),
        "unit_u_ms": _short(1e3 * trace.speeds.unit_u_s),
        "at_s": frames.start_s[instants.frame] + instants.elapsed_s,
        "late_ms": _short(unit_ms * instants.deviation_units(unit_ms / 1e3)),
        "own_ms": _short(_own(result, trace, contact)),
        "contact": contact.astype(np.uint8),
        "closing": instants.to_mark,
        "character": instants.frame.astype(np.uint32),
        "dropout_s": trace.transitions.dropout_s,
        "dropout_ms": _short(1e3 * trace.transitions.dropout_length_s),
        "missing_s": trace.edges.missing.ravel(),
    }
    head = {"unit_ms": unit_ms, "elements": frames.elements.shape[1], "mark_is_high": trace.mark_is_high}
    return arrays, head


def _own(result: LineResult, trace: LineTrace, contact: npt.NDArray[np.int64]) -> npt.NDArray[np.float64]:
    """Return each instant's lateness with all that is common to the contacts taken out, ms; NaN for an odd one."""
    mean = np.full((2, result.settings.elements + 2), np.nan)
    for number, each in enumerate(result.contacts, start=1):
        for closing, reading in ((1, each.closing_late_ms), (0, each.opening_late_ms)):
            mean[closing, number] = np.nan if reading.value is None else reading.value
    return np.asarray(mean[trace.instants.to_mark.astype(int), contact] + 1e3 * trace.groups.residual_s)


def _short(array: npt.NDArray[np.float64]) -> npt.NDArray[np.float32]:
    return array.astype(np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class CoilStudy:
    """The samples of the current, in the file's own numbers.

    Attributes:
        trace: the recording.
        head: when it begins and ends.
        size_bytes: what it takes.
    """

    trace: SampledTrace
    head: Mapping[str, Any]
    size_bytes: int

    def close(self) -> None:
        """Let go of the samples on disk."""
        self.trace.close()


def study_coil(book: Book, entry: Entry, folder: Path) -> CoilStudy:
    """Make it from the raw file in the book.

    Raises:
        InputError: when the entry is no coil evidence with its raw file, or the file holds no samples.
    """
    source = entry.new.body.get("result", {}).get("source", {})
    if entry.new.body.get("sort") != "coil" or source.get("sha256") not in entry.new.files:
        raise InputError("the book", expected="a coil's current with its raw file", found=f"line {entry.key[:12]}")
    taken: list[SampledTrace] = []

    def tap(reader: Any, clock: Any, _: tuple[str, ...]) -> None:
        taken.append(take_samples(reader, clock, folder / "samples", lambda _: None))

    raw = folder / "raw"
    said = entry.new.body.get("steps", {}).get("settings", {})
    try:
        with book.raw(source["sha256"]) as stored, raw.open("wb") as copy:
            shutil.copyfileobj(stored, copy, 1 << 22)
        read_recordings(raw, channel=said.get("channel"), rate_hz=said.get("rate"), tap=tap)
    finally:
        raw.unlink(missing_ok=True)
    if not taken:
        raise InputError("the current", expected="samples", found="a list of changes")
    trace = taken[0]
    size = trace.pyramid.size_bytes + trace.pyramid.count * trace.dtype.itemsize
    return CoilStudy(trace, {"begin_s": trace.begin_s, "end_s": trace.end_s}, size)
