"""Trials marked during a watch, kept beside its recording as they are made: a bench that is killed loses none.

trials.jsonl   {"number": 1, "body": {...}}   one line when it is marked, one each time it is compared;
the last of a number counts, and a line cut short does not.
"""

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING

from tapewright.bench.live import Line

if TYPE_CHECKING:
    from tapewright.line.live.events import Event

FILE = "trials.jsonl"


class TrialsOnDisk:
    """Takes events; writes what they say of trials.

    Args:
        folder: of the recording; its name tells which watch a trial is of.
    """

    def __init__(self, folder: Path) -> None:
        """Begin without any; the file comes with the first."""
        from tapewright.line.live.watch_trial import MarkedTrials  # numpy: not where they are only read

        self._path, self._seen = folder / FILE, MarkedTrials()

    def take(self, event: "Event") -> None:
        """Write the trial that was marked or compared; anything else is let be."""
        number = self._seen.take(event)
        if number is None:
            return
        line = json.dumps({"number": number, "body": self._of_this_watch(self._seen.body(number))}, allow_nan=False)
        with self._path.open("a", encoding="utf-8") as file:
            file.write(line + "\n")
            file.flush()
            os.fsync(file.fileno())

    def bodies(self) -> list[Line]:
        """Return each trial as a body of a line of the book, as last seen."""
        return [self._of_this_watch(body) for body in self._seen.bodies()]

    def _of_this_watch(self, body: Line) -> Line:
        return {**body, "steps": {**body["steps"], "recording": self._path.parent.name}}


def trials_in(folder: Path) -> list[Line]:
    """Return the bodies of the trials that a watch left in its folder, each as last seen."""
    bodies: dict[int, Line] = {}
    path = folder / FILE
    for line in path.read_text("utf-8", errors="replace").splitlines() if path.is_file() else ():
        try:
            said = json.loads(line)
            bodies[int(said["number"])] = dict(said["body"])
        except (ValueError, KeyError, TypeError):
            continue  # cut short by what ended the watch
    return [bodies[number] for number in sorted(bodies)]
