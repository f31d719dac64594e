"""Entries that a browser sends again: each is done once, also when the bench was killed in the middle.

    browser keeps an entry under an id of its own --sends it--> begun --> done with an answer
    the answer does not arrive --sends it again--> the same answer, and nothing is written twice

The ids stand in a file beside the book. One that was begun and not done was cut short: it counts as done when the book
has grown since, else it is done now.
"""

import json
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

MOST_KEPT, LONGEST_ID = 1000, 64
BEFORE = "This was written before the bench stopped."


@dataclass(frozen=True, slots=True)
class Done:
    """What became of it.

    Attributes:
        see: the path to look at now.
        written: fingerprints of the lines written in the book.
        says: one sentence for the page and for screen readers; may be empty.
    """

    see: str
    written: tuple[str, ...] = ()
    says: str = ""


class Once:
    """Safe to use from any thread.

    Args:
        path: the file; None to remember only while the bench runs.
        lines: returns how many lines the book has.
    """

    def __init__(self, path: Path | None, lines: Callable[[], int]) -> None:
        """Take up what the file tells; a line cut short is passed over."""
        self._path, self._lines, self._lock = path, lines, threading.RLock()
        self._known: dict[str, Done | int] = {}
        for line in _lines_of(path)[-MOST_KEPT:]:
            try:
                told = json.loads(line)
                begun, done = told.get("lines"), told.get("done")
                self._known[told["id"]] = int(begun) if done is None else Done(done["see"], (), done["says"])
            except (ValueError, KeyError, TypeError, AttributeError):
                continue

    def do(self, id_: str, see: str, act: Callable[[], Done]) -> Done:
        """Do it, or return what became of it the first time.

        Args:
            id_: as the browser gave it; done without more ado when there is none.
            see: where to look when it was cut short.
            act: does it; what it raises is not remembered.
        """
        if not 0 < len(id_) <= LONGEST_ID:
            return act()
        with self._lock:
            known, lines = self._known.get(id_), self._lines()
            if isinstance(known, Done):
                return known
            if known is not None and lines > known:
                done = Done(see, (), BEFORE)
            else:
                self._remember(id_, lines)
                try:
                    done = act()
                except BaseException:
                    self._known.pop(id_, None)
                    raise
            self._remember(id_, done)
            return done

    def _remember(self, id_: str, what: Done | int) -> None:
        self._known[id_] = what
        told = {"lines": what} if isinstance(what, int) else {"done": {"see": what.see, "says": what.says}}
        if self._path is None:
            return
        try:
            with self._path.open("a", encoding="utf-8") as file:
                file.write(json.dumps({"id": id_, **told}) + "\n")
                file.flush()
                os.fsync(file.fileno())
        except OSError:
            return  # a full disk: the book says so itself


def _lines_of(path: Path | None) -> list[str]:
    try:
        return path.read_text(encoding="utf-8", errors="replace").splitlines() if path is not None else []
    except OSError:
        return []
