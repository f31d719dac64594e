"""A recorded coil current as the page draws it."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapewright.bench.traces.sampled import SampledTrace, take_samples
from tapewright.book.entry import Entry
from tapewright.book.ports import Book
from tapewright.errors import InputError
from tapewright.recordings.files.read import read_recordings


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
