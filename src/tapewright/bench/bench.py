"""What all pages share while the server runs: the book, the jobs, the keys of this start."""

import secrets
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tapewright.bench.jobs import Jobs
from tapewright.bench.live.left_over import LeftOver
from tapewright.bench.live.watches import Watches
from tapewright.bench.rounds import Rounds
from tapewright.bench.standings import Standings
from tapewright.bench.traces.kept import Kept
from tapewright.bench.working import Working
from tapewright.book.bodies import checked
from tapewright.book.entry import Entry, NewEntry
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.book.ports import Book

KEY_BYTES = 32


@dataclass(frozen=True, slots=True)
class Keys:
    """Two random words of this start: a write must bring both, one as a cookie and one in the form or a header."""

    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(KEY_BYTES))
    form: str = field(default_factory=lambda: secrets.token_urlsafe(KEY_BYTES))


@dataclass(frozen=True, slots=True)
class Bench:
    """The bench as it runs.

    Attributes:
        book: the record of the workshop.
        jobs: work that goes on in the background.
        arrivals: folder in which uploads stand until they are measured; emptied at every start.
        keys: the keys of this start.
        standings: where each machine stands.
        watches: lines that are being watched.
        stopping: set when the bench was told to stop: streams of events end then, else they never would.
        working: documents of pages that are being worked out.
        shown: set once a page was shown: until then nothing else may take the processor.
        growing: folder whose growing files the live page may watch; None for none.
        practice: file in which rounds of practice are kept; None to keep them only while the bench runs.
        recordings: folder in which watches are recorded until they are in the book; None for that of the arrivals.
        traces: what was worked out from raw evidence for looking at.
    """

    book: "Book"
    jobs: Jobs
    arrivals: Path
    keys: Keys = field(default_factory=Keys)
    traces: Kept = field(default_factory=Kept)
    stopping: threading.Event = field(default_factory=threading.Event)
    working: Working = field(default_factory=Working)
    shown: threading.Event = field(default_factory=threading.Event)
    practice: Path | None = None
    recordings: Path | None = None
    growing: Path | None = None
    rounds: Rounds = field(init=False)
    standings: Standings = field(init=False)
    left_over: LeftOver = field(init=False)
    watches: Watches = field(init=False)

    def __post_init__(self) -> None:
        """Keep standings and watches of this book."""
        object.__setattr__(self, "standings", Standings(self.book))
        object.__setattr__(self, "rounds", Rounds(self.practice))
        object.__setattr__(self, "left_over", LeftOver(self))
        folder = self.recordings or self.arrivals
        object.__setattr__(self, "watches", Watches(self.book, folder, self.left_over.take))

    def write(
        self, machine: str, kind: str, body: Mapping[str, Any], *, files: Mapping[str, Path | bytes] | None = None,
        rests_on: Sequence[str] = (), replaces: str | None = None, by: str = "",
    ) -> Entry:  # fmt: skip
        """Write one line about a machine and give it as it stands.

        Raises:
            InputError: when the body does not say what such a line must say, or the book cannot be written.
        """
        files = files or {}
        line = NewEntry(machine, kind, body_of(kind, body), by, tuple(files), tuple(rests_on), replaces)
        return self.book.write([line], files)[0]


def body_of(kind: str, body: Mapping[str, Any]) -> dict[str, Any]:
    """Return the body when it says what such a line must say.

    Raises:
        InputError: naming the field.
    """
    try:
        return checked(kind, body)
    except ValueError as problem:
        raise InputError("what was sent", expected="the fields of such a line", found=str(problem)) from problem
