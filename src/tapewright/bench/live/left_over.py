"""Recordings of watches that did not come to their end: found, mended, measured, and put in the book, each once.

    watching   folder/watch.json    what is watched, for which machine; touched every few seconds while it goes on
               folder/watched.npy   the samples, written as they come
               folder/trials.jsonl  what was turned, as it was marked
    the bench killed, the power cut, a cable pulled: they stay; the process that recorded may have closed them, or not
    now, or at the next start on that book --> mended --> measured --> evidence and trials in the book --> taken away

What grew or was touched within the last half minute belongs to a bench that is alive, and is left alone. A recording
whose fingerprint the book has is not taken in again: it was killed between the writing and the taking away.
"""

import json
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tapewright.bench.jobs import Telling
from tapewright.bench.landing import PIECE, Landing
from tapewright.bench.live import Line
from tapewright.bench.live.marked import trials_in
from tapewright.bench.record import measure_and_record
from tapewright.bench.words import see
from tapewright.bench.workplace import Workplace
from tapewright.book.entry import Entry, NewEntry
from tapewright.errors import InputError, TapewrightError

ORDER, RECORDING, REFUSED = "watch.json", "watched.npy", "not-taken-in.json"
STILL_S = 30.0
TITLE = "A recording of a watch that was cut short"
NOTE = "watched; the watch was cut short"
ASKED = ("nominal", "alphabet", "phase", "by", "instrument")
COMES = "What was recorded is being measured and goes into the book."


class LeftOver:
    """Takes in what belongs to the machines of one book, each recording once."""

    def __init__(self, bench: Workplace, still_s: float = STILL_S) -> None:
        """Look in the bench's folder of recordings."""
        self._bench, self._still_s = bench, still_s
        self._taken: set[Path] = set()

    def take_in(self) -> int:
        """Begin a job for each recording that is new here; give how many there are."""
        where = self._bench.recordings or self._bench.arrivals
        return sum(bool(self.take(folder)) for folder in found(where, self._still_s))

    def take(self, folder: Path) -> str:
        """Begin a job for what a watch left in this folder; say so, or nothing when there is nothing to take in."""
        order, worth = _order_in(folder), bool(_samples(folder) or trials_in(folder))
        if not order and not worth:  # of a source that could not be opened
            shutil.rmtree(folder, ignore_errors=True)
        try:
            machine = self._bench.book.machine(str(order.get("machine", ""))).key
        except TapewrightError:
            return ""  # of another book
        if not order or folder in self._taken:
            return ""
        if not worth:
            shutil.rmtree(folder, ignore_errors=True)
            return ""
        self._taken.add(folder)
        (folder / ORDER).touch()  # to another bench it is alive again
        self._bench.jobs.start(machine, TITLE, lambda tell: _work(self._bench, machine, folder, order, tell))
        return COMES


def found(where: Path, still_s: float) -> Iterator[Path]:
    """Return the folders of watches that nobody is at any more."""
    for order in sorted(where.glob(f"*/{ORDER}")):
        there = [path for path in (order, order.with_name(RECORDING)) if path.exists()]
        if there and time.time() - max(path.stat().st_mtime for path in there) > still_s:
            yield order.parent


def _order_in(folder: Path) -> Line:
    """Return what was watched; nothing where that cannot be read."""
    try:
        said = json.loads((folder / ORDER).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return said if isinstance(said, dict) else {}


def _samples(folder: Path) -> bool:
    recording = folder / RECORDING
    return recording.is_file() and recording.stat().st_size > 0


def _work(bench: Workplace, machine: str, folder: Path, order: Line, tell: Telling) -> str:
    from tapewright.book.keep_result import checked_line
    from tapewright.recordings.live.recorder import mend_npy  # numpy: not before the first page

    by = str(order.get("by", ""))
    bodies = [body for body in trials_in(folder) if _is_new(bench, machine, body)]
    trials = [checked_line(NewEntry(machine, "trial", body, by)) for body in bodies]
    measured: list[str] = []

    def found_out(words: str) -> None:
        measured.append(words)
        tell.found(words)

    path = f"/machines/{machine}"
    try:
        if _samples(folder):
            mend_npy(folder / RECORDING)
            path = _measured(bench, machine, folder, order, trials, Telling(tell.progress, found_out))
        elif trials:  # of a source that gives edges or characters
            bench.book.write(trials, {})
    except TapewrightError as refusal:
        if measured:  # the book could not be written: again at the next start
            raise
        raise _put_aside(bench, folder, trials, str(refusal)) from refusal
    shutil.rmtree(folder, ignore_errors=True)
    return path


def _measured(bench: Workplace, machine: str, folder: Path, order: Line, trials: list[NewEntry], tell: Telling) -> str:
    """Measure a recording and write it with its trials, unless the book has it; give the path to look at."""
    landing = _landing(folder / RECORDING)
    known = _evidence_with(bench, machine, landing.digest.hexdigest())
    if known is not None:
        return see({"sort": "line", "key": known.key}, machine)
    said = {name: str(order.get(name, "")) for name in ASKED}
    said |= {"rate": repr(order.get("rate_hz")), "note": NOTE}
    return measure_and_record(bench, machine, "line", landing, said, tell, then=trials, stays=True)


def _put_aside(bench: Workplace, folder: Path, trials: list[NewEntry], why: str) -> InputError:
    """Try no more to measure this recording, throw nothing away, and write what was turned: that is true all the same.

    Returns:
        what to say.
    """
    if trials:
        bench.book.write(trials, {})
    (folder / ORDER).replace(folder / REFUSED)
    in_book = "; what was turned is in the book" if trials else ""
    return InputError(
        "a recording of a watch",
        expected="a line that can be measured",
        found=why,
        do=f"The recording stays in {folder}{in_book}.",
    )


def _landing(recording: Path) -> Landing:
    """Take the fingerprint of the recording where it lies."""
    landing = Landing(recording, RECORDING)
    with recording.open("rb") as there:
        while piece := there.read(PIECE):
            landing.take(piece)
    return landing


def _evidence_with(bench: Workplace, machine: str, sha256: str) -> Entry | None:
    """Return the evidence that rests on a recording with this fingerprint."""
    if sha256 not in bench.book.raw_files():
        return None
    lines = bench.book.entries(machine, kinds=("evidence",), sort="line")
    return next((entry for entry in lines if sha256 in entry.new.files), None)


def _is_new(bench: Workplace, machine: str, trial: Line) -> bool:
    """Return whether the book has no line of this trial yet."""

    def of(body: Any) -> tuple[str, int]:
        steps = body.get("steps", {})
        return steps.get("recording", ""), steps.get("compared", {}).get("number", 0)

    return all(of(entry.new.body) != of(trial) for entry in bench.book.entries(machine, kinds=("trial",)))
