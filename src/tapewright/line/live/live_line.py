"""The watched line: samples or edges in, what happens out. Owns no port and no clock.

Everything is decided at hops of 5 ms counted from the first sample, so the pieces may be cut anywhere.
"""

from collections.abc import Iterable, Iterator

import numpy as np

from tapewright.line.document import LineResult, LineSettings
from tapewright.line.live.edge_ring import EdgeRing, ReadOut
from tapewright.line.live.events import Broke, Event, Learned, Learning, Lost, Struck, Typed
from tapewright.line.live.figures_on_the_way import AtOnce, FiguresOnTheWay, Helper
from tapewright.line.live.learning import SpeedFinder
from tapewright.line.live.live_edges import FoundEdges, LiveEdges, Samples
from tapewright.line.live.needles import Bands
from tapewright.line.live.running import WINDOW, Running
from tapewright.line.live.settling import LineBreak, Settled, Settling
from tapewright.line.live.trials import Trials
from tapewright.line.unit_length import UnitGuess
from tapewright.recordings.capture import BoolArray, FloatArray, RawEdges
from tapewright.recordings.edges.blocks import Thresholds

#: characters whose edges are kept for the figures at the end
KEPT_CHARACTERS = 2000
#: while nothing is known yet, say so this often
SAY_EVERY_S = 1.0
#: characters that came while nothing was known, from which something can be learned before they are given out
FEWEST_TO_LOOK_AHEAD = 3
#: characters without a stop, of the last sixteen, that make the unit doubtful
POOR_OF_16 = 6
#: when the unit turns out to be another within so many characters, all are read again
LATEST_AGAIN = 60
#: after a piece that was not seen the line is put this long after what came before it
GAP_REST_UNITS = 40.0


class LiveLine:
    """Feed it; it answers with events.

    Args:
        settings: what the user knows about the signal.
        rate_hz: samples a second; None for a source that gives edges.
        thresholds: levels the user has said; None to learn them.
        seldom: make the running figures only when their window is full of new characters, as a soak wants them.
    """

    def __init__(
        self, settings: LineSettings, rate_hz: float | None = None, thresholds: Thresholds | None = None,
        *, seldom: bool = False,
    ) -> None:  # fmt: skip
        self.settings, self._seldom = settings, seldom
        self.ring = EdgeRing()
        self.characters = 0
        #: set while the line is fed later than it happens: then running figures are made less often
        self.hurry = False
        #: makes what takes long; one that works beside the line lets the next character wait for nothing
        self.helper: Helper = AtOnce()
        self._edges = LiveEdges(rate_hz, thresholds) if rate_hz else None
        self._finder = SpeedFinder(settings)
        self._settling: Settling | None = None
        self._running: Running | None = None
        self._bands = Bands()
        self._read_out = ReadOut(settings)
        self._said_at_s = 0.0
        self._starts: list[float] = []
        self._poor = 0
        self._kept_back = True
        self._figures = FiguresOnTheWay()
        self._trials = Trials()

    @property
    def now_s(self) -> float:
        """Signal time up to which all is known."""
        return self.ring.until_s

    @property
    def tells_timing(self) -> bool:
        """Whether samples or edges came, not only characters."""
        return self.ring.until_s > 0.0

    @property
    def figures(self) -> LineResult | None:
        """The running figures; None before there are any."""
        return None if self._running is None else self._running.result

    def feed(self, samples: Samples) -> Iterator[Event]:
        """Take samples, shape (n,), and give what they bring; take all of it before feeding more.

        Raises:
            ValueError: when this line was made for edges.
        """
        if self._edges is None:
            raise ValueError("this line takes edges, not samples")
        for found in self._edges.hops(samples):
            yield from self._advance(found)

    def feed_edges(
        self, times_s: FloatArray, level_after: BoolArray, u_s: FloatArray, until_s: float
    ) -> Iterator[Event]:
        """Take edges, shape (n,) each, of a source that sees edges; none is missing up to `until_s`."""
        starts_high = not level_after[0] if level_after.size else None
        yield from self._advance(FoundEdges(times_s, level_after, u_s, until_s, starts_high))

    def feed_codes(self, codes: Iterable[str]) -> Iterator[Event]:
        """Take characters of a source that tells no timing; an empty code came broken."""
        for code in codes:
            self.characters += 1
            shown, text = self._read_out.read(code) if code else ("", "")
            yield Typed(self.characters, code, shown, text)

    def gap(self, seconds: float | None, why: str) -> Iterator[Event]:
        """Say that the line was not seen for a while; characters cut by that are not counted.

        Args:
            seconds: how long; None when that cannot be known.
            why: in words.
        """
        yield Lost(self.now_s, seconds, why)
        unit_s = self._settling.unit_s if self._settling else 0.022
        rest_s = seconds if seconds is not None else GAP_REST_UNITS * unit_s
        if self._settling is not None:
            self.ring.drop_after(self._settling.resume_s)
            self._settling.resume_s = self.now_s + rest_s
            self._settling.break_off()
        else:
            self.ring.drop_before(self.now_s)
            self.ring.starts_high = None
        if self._edges is not None:
            self._edges.gap(max(1, round(rest_s * self._edges.rate_hz)))

    def hands_on(self) -> None:
        """Say that a screw is being turned from now on: what comes belongs to no stretch until `mark`."""
        self._trials.put_hands_on(self._running, self.ring, self.helper)

    def hands_off(self) -> None:
        """Say that nothing was turned after all: the stretch goes on."""
        self._trials.hands_on = False

    def mark(self, label: str) -> Iterator[Event]:
        """Mark a trial: what was keyed up to now is the stretch before it.

        Args:
            label: what was done, for example "turned screw B a quarter".
        """
        self.hands_on()
        yield self._trials.mark(label, self.now_s)
        self._bands.forget()
        self._figures.forget()
        if self._running is not None:
            self._running.forget()

    def finish(self) -> Iterator[Event]:
        """Return what the end brings."""
        if self._edges is not None:
            yield from self._advance(self._edges.finish())
        if self._settling is None and self.ring.times_s.size:
            guess = self._first_guess(at_the_end=True)
            if guess is not None:
                yield from self._begin(guess)
        running = self._running
        if running is not None and running.result is None and self.characters and not self._figures.asked:
            self._ask_figures(running)
        yield from self._answered(wait=True)
        last = self._trials.at_the_end(running, self.ring, self.helper)
        if last is not None:
            yield last

    def kept(self) -> RawEdges:
        """Return all edges kept, as a recording of them would have them."""
        return self.ring.since(self.ring.begin_s)

    def _advance(self, found: FoundEdges) -> Iterator[Event]:
        """Take one hop."""
        self.ring.append(found)
        self._tell_ring()
        if self._settling is None:
            guess = self._first_guess()
            if guess is None:
                yield from self._say_learning()
                return
            yield from self._begin(guess)
        else:
            yield from self._settle()
        self._kept_back = False

    def _tell_ring(self) -> None:
        """Carry what is odd about the instrument to all that is measured from its edges."""
        learned = self._edges.learned if self._edges else None
        if learned is not None and learned.sagging is not None and self.ring.levels_known:
            self.ring.suspicions = learned.sagging.suspicions()
            self.ring.levels_known = False

    def _first_guess(self, *, at_the_end: bool = False) -> UnitGuess | None:
        edges = self.ring.since(self.ring.begin_s)
        told = self._finder.told(edges, np.inf if at_the_end else self.now_s)
        return told or (self._finder.must_find(edges) if at_the_end else self._finder.found(edges))

    def _say_learning(self) -> Iterator[Event]:
        if self.now_s - self._said_at_s >= SAY_EVERY_S:
            self._said_at_s = self.now_s
            levels_known = self._edges is None or self._edges.learned is not None
            yield Learning(self.now_s, "speed" if levels_known else "levels", self.ring.times_s.size)

    def _begin(self, guess: UnitGuess) -> Iterator[Event]:
        """Begin to follow with a unit; also when another unit turns out to be the right one."""
        again = self._settling is not None and self.characters <= LATEST_AGAIN
        resume_s = self.ring.begin_s if again or self._settling is None else self._settling.resume_s
        if again:
            self.characters = 0
            self._trials.from_the_first()
            self._read_out.begin_anew()
            self._kept_back = True
            self._starts.clear()
        self._settling = Settling(
            guess.unit_s, mark_is_high=guess.mark_is_high, elements=self.settings.elements, resume_s=resume_s
        )
        self._running = Running(self.settings, guess)
        self._figures.forget()
        self._bands.forget()
        idle = "high" if guess.mark_is_high else "low"
        yield Learned(self.now_s, idle, 1e3 * guess.unit_s, self.ring.suspicions, again)
        yield from self._settle()

    def _settle(self) -> Iterator[Event]:
        assert self._settling is not None
        assert self._running is not None
        yield from self._answered()
        settled = self._settling.settle(self.ring)
        known = [each for each in settled if isinstance(each, Settled)]
        if self._running.result is None and len(known) >= FEWEST_TO_LOOK_AHEAD:
            self._running.look_ahead(self.ring, known[0].start_s)
        for each in settled:
            if isinstance(each, LineBreak):
                yield Broke(each.begin_s)
            else:
                yield self._struck(each, self._running)
                other = self._other_unit(each)
                if other is not None:
                    yield from self._begin(other)
                    return
        if not self._figures.asked and self._running.due(self.now_s, hurry=self._hurry):
            self._ask_figures(self._running)
        self._trials.ask(self._running, self.ring, self.helper)
        yield from self._answered()

    def _struck(self, settled: Settled, running: Running) -> Struck:
        shown, text = self._read_out.read(settled.code)
        self.characters += 1
        self._trials.character()
        unit = running.take(settled)
        self._keep(settled.start_s)
        return Struck(
            number=self.characters,
            start_s=settled.start_s,
            stop_begins_s=settled.start_s + (self.settings.elements + 1) * running.guess.unit_s,
            settled_s=self.now_s,
            code=settled.code,
            shown=shown,
            text=text,
            unit_ms=unit,
            stop_before_units=settled.stop_before_units,
            stopped=settled.stopped,
            needles=self._bands.take(settled, running.expected),
            kept_back=self._kept_back,
        )

    def _keep(self, start_s: float) -> None:
        """Let the oldest characters go."""
        self._starts.append(start_s)
        if len(self._starts) > KEPT_CHARACTERS + KEPT_CHARACTERS // 4:
            self._starts = self._starts[-KEPT_CHARACTERS:]
            unit_s = self._settling.unit_s if self._settling else 0.0
            self.ring.drop_before(self._starts[0] - unit_s / 2)

    @property
    def _hurry(self) -> bool:
        return self.hurry or (self._seldom and self.characters > WINDOW)

    def _ask_figures(self, running: Running) -> None:
        self._figures.ask(self.helper, running, self.ring, self.now_s, self.characters)

    def _answered(self, *, wait: bool = False) -> Iterator[Event]:
        """Take in what the helper has made by now."""
        running = self._running
        figures = self._figures.take(running, wait=wait)
        if figures is not None:
            if running is not None and self._settling is not None:
                self._settling.unit_s, self._settling.offsets = running.guess.unit_s, running.offsets
            yield figures
        compared = self._trials.answered(wait=wait)
        if compared is not None:
            yield compared

    def _other_unit(self, settled: Settled) -> UnitGuess | None:
        """Look for another unit after the first characters, and when they come out poor."""
        self._poor = max(0, self._poor + (3 if not settled.stopped else -1))
        assert self._running is not None
        edges = self.ring.since(max(self.ring.begin_s, self.now_s - 60.0))
        other = self._finder.better(edges, self._running.guess)
        if other is None and self._poor > 3 * POOR_OF_16:
            self._poor = 0
            other = self._finder.must_be(edges, self._running.guess)
        return other
