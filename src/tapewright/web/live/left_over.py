"""Recordings of watches that a killed bench left behind: found at the next start, measured, and put in the book.

    watching   folder/watch.json   what is watched, for which machine
               folder/watched.npy  the samples, written as they come
    killed     both stay; the process that recorded may have closed the file, or not
    next start of a bench on that machine's book --> mended --> measured --> evidence in the book --> taken away

A recording that grew within the last half minute belongs to a bench that is alive, and is left alone.
"""

import json
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tapewright.errors import TapewrightError
from tapewright.web.bench import Bench
from tapewright.web.jobs import Telling
from tapewright.web.landing import PIECE, own_folder
from tapewright.web.record import measure_and_record

ORDER, RECORDING = "watch.json", "watched.npy"
STILL_S = 30.0
TITLE = "A recording left when the bench was stopped"
NOTE = "watched; the bench was stopped before the end, so the trials that were marked are not in the book"


class LeftOver:
    """Takes in what belongs to the machines of one book, each recording once."""

    def __init__(self, bench: Bench, where: Path | None = None, still_s: float = STILL_S) -> None:
        """Look below `where`, the folder for temporary files when nothing is said."""
        self._bench, self._where, self._still_s = bench, where or Path(tempfile.gettempdir()), still_s
        self._taken: set[Path] = set()

    def take_in(self) -> int:
        """Begin a job for each recording that is new here; give how many there are."""
        begun = 0
        for folder, order in found(self._where, self._still_s):
            try:
                machine = self._bench.book.machine(str(order.get("machine", "")))
            except TapewrightError:
                continue  # of another book
            if folder not in self._taken:
                self._taken.add(folder)
                (folder / RECORDING).touch()  # to another bench it is alive again
                self._bench.jobs.start(machine.key, TITLE, _work(self._bench, machine.key, folder, order))
                begun += 1
        return begun


def found(where: Path, still_s: float) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Give the folders with a recording that nobody writes to any more, and what was watched."""
    for order in sorted(where.glob(f"tapewright-bench-*/arrivals/*/{ORDER}")):
        recording = order.with_name(RECORDING)
        try:
            still = time.time() - recording.stat().st_mtime > still_s
            said = json.loads(order.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            continue
        if still and isinstance(said, dict):
            yield order.parent, said


def _work(bench: Bench, machine: str, folder: Path, order: dict[str, Any]) -> Any:
    def work(tell: Telling) -> str:
        from tapewright.adapters.live_recorder import mend_npy  # numpy: not before the first page

        mend_npy(folder / RECORDING)
        landing = own_folder(bench.arrivals, RECORDING)
        with (folder / RECORDING).open("rb") as there, landing.path.open("wb") as here:
            while piece := there.read(PIECE):
                landing.take(piece)
                here.write(piece)
        said = {name: order[name] for name in ("nominal", "alphabet", "phase", "by", "instrument")}
        said |= {"rate": repr(order["rate_hz"]), "note": NOTE}
        path = measure_and_record(bench, machine, "line", landing, said, tell)
        shutil.rmtree(folder, ignore_errors=True)
        return path

    return work
