r"""Traces and pictures that were worked out once are kept for the next look: outside the book, and not without bound.

    key --not there--> make(folder of its own) --> kept --too many or too large--> the least looked at goes

The picture of a capture is made while the capture is written in the book, so that the page need not wait for it:

    measured --> written in the book          (one processor)
            \--> samples copied, pyramid      (the other)
"""

import contextlib
import json
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Protocol

#: At most so many studies, and at most so many bytes on disk and in memory together. The last one made always stays.
MOST, MOST_BYTES = 12, 4_000_000_000


class Study(Protocol):
    """Something worked out from raw evidence, for looking at."""

    @property
    def size_bytes(self) -> int:
        """What it takes on disk and in memory."""

    def close(self) -> None:
        """Let go of what it holds on disk."""


class Kept:
    """Keeps studies; safe to use from any thread. Two who ask for the same one at once wait for one piece of work."""

    def __init__(self, most: int = MOST, most_bytes: int = MOST_BYTES) -> None:
        """Keep at most so many, and at most so many bytes."""
        self._most, self._most_bytes = most, most_bytes
        self._studies: OrderedDict[str, Any] = OrderedDict()
        self._being_made: dict[str, threading.Lock] = {}
        self._lock = threading.Lock()
        self._folder: tempfile.TemporaryDirectory[str] | None = None

    def get(self, key: str, make: Callable[[Path], Study]) -> Any:
        """Return the study of this key, made in a folder of its own when it is not there."""
        with self._lock:
            making = self._being_made.setdefault(key, threading.Lock())
        with making:
            known = self._known(key)
            if known is not None:
                return known
            study = make(self._own_folder(key))
            self._keep(key, study)
            return study

    def close(self) -> None:
        """Let go of all of them."""
        with self._lock:
            studies, folder = list(self._studies.values()), self._folder
            self._studies.clear()
            self._folder = None
        for study in studies:
            study.close()
        if folder is not None:
            folder.cleanup()

    def _known(self, key: str) -> Any:
        with self._lock:
            if key in self._studies:
                self._studies.move_to_end(key)
            return self._studies.get(key)

    def _own_folder(self, key: str) -> Path:
        with self._lock:
            if self._folder is None:
                self._folder = tempfile.TemporaryDirectory(prefix="tapewright-traces-", ignore_cleanup_errors=True)
            return Path(tempfile.mkdtemp(dir=self._folder.name))

    def _keep(self, key: str, study: Study) -> None:
        gone = []
        with self._lock:
            self._studies[key] = study
            while len(self._studies) > 1 and (len(self._studies) > self._most or self._bytes() > self._most_bytes):
                old, out = self._studies.popitem(last=False)
                self._being_made.pop(old, None)
                gone.append(out)
        for each in gone:
            each.close()

    def _bytes(self) -> int:
        return sum(study.size_bytes for study in self._studies.values())


def key_of(body: Mapping[str, Any]) -> str:
    """Name the study of line evidence after what it is made from: the file, and how it was read."""
    said = body.get("steps", {}).get("settings", {})
    source = body.get("result", {}).get("source", {})
    return f"line {source.get('sha256')} {json.dumps(said, sort_keys=True)}"


def begin(traces: Kept, sort: str, body: Mapping[str, Any], raw: Path) -> Callable[[], None]:
    """Begin it; call what is given back before the file is taken away. What fails here is made when it is asked for."""
    if sort != "line":
        return lambda: None

    def work() -> None:
        from tapewright.bench.traces.signal_study import study_file

        with contextlib.suppress(Exception):
            traces.get(key_of(body), lambda folder: study_file(body, raw, folder))

    thread = threading.Thread(target=work, name="bench picture", daemon=True)
    thread.start()
    return thread.join
