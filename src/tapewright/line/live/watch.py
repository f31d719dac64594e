"""Watch a line: source > live line > what happens, with how long it took; the raw signal kept beside."""

import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from tapewright.errors import TapewrightError
from tapewright.line.document import LineSettings
from tapewright.line.live.events import Event, Lost, Struck, Typed
from tapewright.line.live.figures_on_the_way import AtOnce
from tapewright.line.live.live_line import LiveLine
from tapewright.line.measure import measure_line
from tapewright.line.read import HowToRead, LineReport, read_line
from tapewright.recordings.capture import Recording
from tapewright.recordings.files.on_disk import CaptureFiles
from tapewright.recordings.live.source import CodePiece, EdgePiece, GapPiece, LiveSource, Piece, SamplePiece


class RawKeeper(Protocol):
    """Writes down every piece."""

    path: Path

    def take(self, piece: Piece) -> None:
        """Write one piece."""

    def close(self) -> None:
        """Finish the file."""


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that happened.

    Attributes:
        event: what; None for a tick, when only time has passed.
        screen_ms: from the instant its stop began on the line to now; None where that makes no sense.
    """

    event: Event | None
    screen_ms: float | None = None


#: samples that wait longer than this say that the computer is behind
LATE_S = 0.04


@dataclass(frozen=True, slots=True)
class Until:
    """When to end by itself; None for never."""

    seconds: float | None = None
    characters: int | None = None


class Watch:
    """One watch.

    Args:
        source: what shows the line.
        line: what makes sense of it.
        keeper: keeps the raw signal; None to keep none.
        clock: gives monotonic seconds.
    """

    def __init__(
        self,
        source: LiveSource,
        line: LiveLine,
        keeper: RawKeeper | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.source, self.line, self.keeper = source, line, keeper
        self.samples, self.gaps = 0, 0
        self.ended_by_itself = False
        #: why the source failed in the middle; what came before that is whole
        self.failed: TapewrightError | None = None
        self._clock = clock
        self._ready_at_s: float | None = None
        self._lag_s = 0.0
        self._stopped = False
        self._helper: ThreadPoolExecutor | None = None

    @property
    def seconds(self) -> float:
        """Signal time taken in."""
        return self.samples / self.source.rate_hz if self.source.rate_hz else self.line.now_s

    def moments(self, until: Until) -> Iterator[Moment]:
        """Return what happens, and a tick for each piece; ends with the source, with `until` or with `stop`.

        A source that fails (a cable pulled, an instrument that falls silent) ends it like any other end, `failed` says
        why: what was watched until then is as good as before.
        """
        try:
            for piece in self._pieces():
                if self.keeper is not None:
                    self.keeper.take(piece)
                self._look_at_the_clock(piece)
                for event in self._bring(piece):
                    yield self._timed(event)
                yield Moment(None)
                if self._stopped or self._over(until):
                    break
            else:
                self.ended_by_itself = True
            for event in self.line.finish():
                yield self._timed(event)
            if self.keeper is not None:
                self.keeper.close()
        finally:
            self._let_helper_go()

    def _pieces(self) -> Iterator[Piece]:
        """Return the pieces of the source until it ends or fails."""
        try:
            yield from self.source.pieces()
        except TapewrightError as reason:
            self.failed = reason

    def stop(self) -> None:
        """End after this piece."""
        self._stopped = True

    def _look_at_the_clock(self, piece: Piece) -> None:
        """See how late a piece comes; have the figures made beside the line when it happens just now."""
        self._ready_at_s = piece.ready_at_s if isinstance(piece, SamplePiece) else None
        self._lag_s = piece.lag_s if isinstance(piece, SamplePiece) else 0.0
        self.line.hurry = self._ready_at_s is not None and self._clock() - self._ready_at_s > LATE_S
        edges_now = isinstance(piece, EdgePiece) and self.source.whole_file is None
        if self._helper is None and (self._ready_at_s is not None or edges_now):
            self._helper = ThreadPoolExecutor(1, "figures")
            self.line.helper = self._helper

    def _let_helper_go(self) -> None:
        """Make what comes after the end at once."""
        self.line.helper = AtOnce()
        if self._helper is not None:
            self._helper.shutdown(wait=False)

    def _bring(self, piece: Piece) -> Iterator[Event]:
        if isinstance(piece, SamplePiece):
            self.samples += piece.samples.size
            yield from self.line.feed(piece.samples)
        elif isinstance(piece, EdgePiece):
            yield from self.line.feed_edges(piece.times_s, piece.level_after, piece.u_s, piece.until_s)
        elif isinstance(piece, CodePiece):
            yield from self.line.feed_codes(piece.codes)
        elif isinstance(piece, GapPiece):
            self.gaps += 1
            if self.source.rate_hz is None and piece.seconds is None:
                yield Lost(self.line.now_s, None, piece.why)
            else:
                yield from self.line.gap(piece.seconds, piece.why)

    def _timed(self, event: Event) -> Moment:
        if not isinstance(event, Struck) or self._ready_at_s is None or event.kept_back:
            return Moment(event)
        on_line_at_s = self._ready_at_s - self._lag_s - (self.seconds - event.stop_begins_s)
        return Moment(event, 1e3 * (self._clock() - on_line_at_s))

    def _over(self, until: Until) -> bool:
        return (until.seconds is not None and self.seconds >= until.seconds) or (
            until.characters is not None and self.line.characters >= until.characters
        )


def raw_signal(watch: Watch) -> Path | None:
    """Return the file that holds all that was watched: what was kept, or the file that was read to its end."""
    if watch.source.rate_hz is None:
        return None  # a list of edges has lost the doubt of each
    if watch.keeper is not None:
        return watch.keeper.path if watch.keeper.path.exists() else None
    return watch.source.whole_file if watch.ended_by_itself else None


def report_of(watch: Watch, settings: LineSettings, how: HowToRead, *, files: CaptureFiles) -> LineReport:
    """Return the figures of the whole watch, as for a recording: from the raw signal where there is one.

    Without it they come from the edges of the last characters, found with the levels learned at the beginning.
    """
    raw = raw_signal(watch)
    if raw is not None:
        return read_line(raw, how, settings, files=files, progress=lambda fraction: None)
    edges = watch.line.kept()
    recording = Recording(edges, watch.source.what, "1", ("1",), watch.samples, watch.source.rate_hz)
    return LineReport(watch.source.what, None, recording, measure_line(edges, settings), ())


def heard(event: Event | None) -> str:
    """Return the text an event adds."""
    return event.text if isinstance(event, Struck | Typed) else ""


def lateness_of(event: object, contact: str, *, closing: bool) -> list[float]:
    """Return how late a contact ("1" to "5", or "stop") was in a character, ms; nothing where it did not move.

    What was keyed while the program learned comes all at once, too late to turn a screw by: nothing of it is given.
    """
    if not isinstance(event, Struck) or event.kept_back:
        return []
    here = len(event.code) + 1 if contact == "stop" else int(contact)
    found = [n for n in event.needles if min(n.contact, len(event.code) + 1) == here and n.closing == closing]
    return [needle.late_ms for needle in found]
