"""What measuring, watching and the pages share while the server runs: the book, the jobs, what is kept for a while."""

import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tapewright.bench.jobs import Jobs
from tapewright.bench.once import Once
from tapewright.bench.rounds import Rounds
from tapewright.bench.standings import COUNTED, Standings, StillOpen, diagnosed, still_open
from tapewright.bench.traces.kept import Kept
from tapewright.bench.trust.keys import Keys
from tapewright.bench.working import Working
from tapewright.book.bodies import checked
from tapewright.book.entry import AT_THE_BENCH, Entry, NewEntry
from tapewright.book.ports import Book
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.advisor.measure import FaultReport


@dataclass(frozen=True, slots=True)
class Workplace:
    """A book that is open at the bench.

    Attributes:
        book: the record of the workshop.
        jobs: work that goes on in the background.
        arrivals: folder in which uploads stand until they are measured; emptied at every start.
        keys: the keys of this start.
        traces: what was worked out from raw evidence for looking at.
        stopping: set when the bench was told to stop: streams of events end then, else they never would.
        working: documents of pages that are being worked out.
        shown: set once a page was shown: until then nothing else may take the processor.
        practice: file in which rounds of practice are kept; None to keep them only while the bench runs.
        recordings: folder in which watches are recorded until they are in the book; None for that of the arrivals.
        growing: folder whose growing files the live page may watch; None for none.
        rounds: rounds of practice.
        standings: where each machine stands.
        open: what is open on each machine.
        once: entries that browsers may send again.
    """

    book: Book
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
    standings: "Standings[FaultReport]" = field(init=False)
    open: Standings[StillOpen] = field(init=False)
    once: Once = field(init=False)

    def __post_init__(self) -> None:
        """Keep standings and rounds of this book."""
        standings = Standings(self.book, partial(diagnosed, self.book), COUNTED)
        object.__setattr__(self, "standings", standings)
        work = lambda machine: still_open(self.book, machine, standings.of(machine))  # noqa: E731
        object.__setattr__(self, "open", Standings(self.book, work))
        object.__setattr__(self, "rounds", Rounds(self.practice))
        sent = None if self.practice is None else self.practice.with_suffix(".sent.jsonl")
        object.__setattr__(self, "once", Once(sent, lambda: sum(each.entries for each in self.book.machines())))

    def write(
        self,
        machine: str,
        kind: str,
        body: Mapping[str, object],
        *,
        files: Mapping[str, Path | bytes] | None = None,
        rests_on: Sequence[str] = (),
        replaces: str | None = None,
        reason: str = "",
        by: str = "",
    ) -> Entry:
        """Write one line about a machine and return it as it stands.

        Raises:
            InputError: when the body does not hold what such a line must hold, or the book cannot be written.
        """
        files = files or {}
        by = by or (AT_THE_BENCH if replaces else "")
        line = NewEntry(machine, kind, body_of(kind, body), by, tuple(files), tuple(rests_on), replaces, reason)
        return self.book.write([line], files)[0]


def body_of(kind: str, body: Mapping[str, object]) -> dict[str, object]:
    """Return the body when it holds what such a line must hold.

    Raises:
        InputError: naming the field.
    """
    try:
        return checked(kind, body)
    except ValueError as problem:
        raise InputError("what was sent", expected="the fields of such a line", found=str(problem)) from problem
