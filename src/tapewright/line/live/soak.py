r"""A soak: hours of a known text over and over; errors with the bound so far, speed and ripple, in constant memory.

Picture (the text goes round and round; what came is laid beside it, and settled up to a stretch that is right):

    sent      ...THE QUICK BROWN FOX THE QUICK BROWN FOX THE...
    received     QUICK BRXWN FOX TH- QUIC|K BRO
                                         ^ settled up to here; the rest waits for the next piece

Errors are columns of the alignment that are not right: changed, lost, extra. Everything counts: where a piece is more
than half wrong the line is out of step, and all of it is wrong from its first wrong character until a run of right ones
shows that the line is in step again. What is shown by the counts, and what errors that come in bursts change about it,
says soak_sides; what comes wrong at the same place of each round is counted by place.
An adjustment parts the soak: what is counted, timed and logged begins anew after it.
"""

from typing import Annotated

import msgspec

from tapewright.line.live.soak_sides import BLOCK, COUNTS, MOST_SIDES, Bin, Count, Number, Side, drift, mean_unit
from tapewright.message.alignment import Pair, align
from tapewright.message.rate import ErrorRate

#: characters laid beside the text at once; at the end so many more or fewer of the text are tried beside the rest
PIECE, AT_END = 96, 6
#: a settled piece ends with so many right ones
RIGHT_AT_END = 4
#: a piece with more errors than this share is no longer in step: the place in the text is looked for again
OUT_OF_STEP = 0.5
#: so many right ones in a row show that the line is in step again: 1 in 32^8 by chance; errors nearer than that are
#: one event
IN_STEP_AGAIN = 8
#: unasked codes at one place that are remembered
MOST_CODES = 8
#: characters the place in the text is found from
PLACED_BY = 48
#: bins of the speed log; when they are full each two become one
MOST_BINS, FIRST_BIN_S = 240, 60.0


Code = Annotated[str, msgspec.Meta(pattern="^[01]{5}$")]


class ByPlace(msgspec.Struct):
    """What came wrong at one place of the text, over all rounds.

    Attributes:
        wrong: rounds in which the character there was changed or lost.
        extra: rounds in which characters came before it unasked.
        codes: those, when last seen.
    """

    wrong: Count = 0
    extra: Count = 0
    codes: list[Code] = []


class SoakState(msgspec.Struct):
    """All that a soak remembers; a restart goes on from here. What is counted is of the side since the last adjustment.

    Attributes:
        seconds: of line taken in, of all sides.
        characters: columns of the alignments settled: what was sent or came unasked.
        changed, lost, extra: the errors.
        stray: characters wrong because the line was out of step.
        out_of_step: how often it fell out of step.
        longest_stray: characters of the longest such stretch.
        astray: characters of the one that goes on; 0 when the line is in step.
        blocks, errored_blocks: blocks of `BLOCK` characters that are full; those with anything wrong in them.
        block_characters, block_wrong: of the block that is filling.
        events: errors, those near each other as one.
        right_since: right ones since the last error.
        rounds: characters of the text that were settled in step, over the length of the text.
        by_place: place in the text -> what came wrong there.
        restarts: how often the soak was begun again.
        broken: characters that came without a stop.
        gaps: times the line was not seen.
        place: next code of the text to come; None while it is to be found.
        waiting: codes that came and are not settled.
        bin_s: time of a bin.
        bins: the speed over time.
        ripple_percent: largest shown so far.
        source: the file that is read; empty for a source whose past does not come again.
        source_seconds: of that file taken in.
        source_last_s: when the last character counted of it began; below 0 for none.
        label: what was adjusted last; empty for nothing.
        begun_s: when the side since then began.
        marks: adjustments of the file of marks that were taken in.
        book_line: number of the last adjustment of the book that was taken in; below 0 when none was looked for.
        earlier: the sides before it, oldest first.
    """

    seconds: Number = 0.0
    characters: Count = 0
    changed: Count = 0
    lost: Count = 0
    extra: Count = 0
    stray: Count = 0
    out_of_step: Count = 0
    longest_stray: Count = 0
    astray: Count = 0
    blocks: Count = 0
    errored_blocks: Count = 0
    block_characters: Count = 0
    block_wrong: Count = 0
    events: Count = 0
    right_since: Count = IN_STEP_AGAIN
    rounds: Number = 0.0
    by_place: dict[int, ByPlace] = {}
    restarts: Count = 0
    broken: Count = 0
    gaps: Count = 0
    place: Count | None = None
    waiting: list[Code] = []
    bin_s: Annotated[float, msgspec.Meta(gt=0)] = FIRST_BIN_S
    bins: Annotated[list[Bin], msgspec.Meta(max_length=MOST_BINS)] = []
    ripple_percent: Number = 0.0
    source: str = ""
    source_seconds: Number = 0.0
    source_last_s: Annotated[float, msgspec.Meta(ge=-1)] = -1.0
    label: str = ""
    begun_s: Number = 0.0
    marks: Count = 0
    book_line: Annotated[int, msgspec.Meta(ge=-1)] = -1
    earlier: Annotated[list[Side], msgspec.Meta(max_length=MOST_SIDES)] = []

    @property
    def wrong(self) -> int:
        """All errors since the last adjustment."""
        return self.changed + self.lost + self.extra + self.stray

    @property
    def rate(self) -> ErrorRate:
        """Share of errors with its upper bound."""
        return self.side().rate

    def side(self) -> Side:
        """Return the side since the last adjustment as it stands."""
        shown, (unit, u) = self.drift_percent(), mean_unit(self.bins)
        return Side(
            label=self.label,
            seconds=self.seconds - self.begun_s,
            **{name: getattr(self, name) for name in COUNTS},
            unit_ms=unit,
            unit_u_ms=u,
            drift_percent=shown and shown[0],
            drift_u_percent=shown and shown[1],
            ripple_percent=self.ripple_percent,
        )

    def drift_percent(self) -> tuple[float, float] | None:
        """Return the change of speed from the first bin to the last, per cent (faster positive), and its u."""
        return drift(self.bins)


#: what begins anew with a side
OF_A_SIDE = (
    "characters", "changed", "lost", "extra", "stray", "out_of_step", "longest_stray", "astray", "blocks",
    "errored_blocks", "block_characters", "block_wrong", "events", "right_since", "rounds", "by_place", "broken",
    "gaps", "place", "waiting", "bin_s", "bins", "ripple_percent",
)  # fmt: skip


class Soak:
    """Take codes and units; keep the state.

    Args:
        text: codes of one round of the text.
        state: to go on from.

    Raises:
        ValueError: for a text without codes.
    """

    def __init__(self, text: list[str], state: SoakState | None = None) -> None:
        if not text:
            raise ValueError("a soak needs a text")
        self.text, self.state = text, state or SoakState()
        self.hands_on = False

    def turning(self) -> None:
        """Say that something is being turned: what was keyed is settled, what comes belongs to no side until `mark`."""
        if not self.hands_on:
            self.seen_again()
        self.hands_on = True

    def turned_nothing(self) -> None:
        """Say that nothing was turned after all: the side goes on."""
        self.hands_on = False

    def mark(self, label: str) -> bool:
        """Begin a new side after an adjustment; return whether that could be done.

        What waits unsettled belongs to neither side, unless `turning` said when the hands were on.
        """
        state = self.state
        if len(state.earlier) + 1 >= MOST_SIDES:
            return False
        state.earlier.append(state.side())
        new = SoakState()
        for name in OF_A_SIDE:
            setattr(state, name, getattr(new, name))
        state.label, state.begun_s, self.hands_on = label, state.seconds, False
        return True

    def character(self, code: str, unit_ms: float | None, at_s: float) -> None:
        """Take one character at a time of the soak."""
        if self.hands_on:
            return
        self.state.waiting.append(code)
        if unit_ms is not None:
            self._log(unit_ms, at_s)
        if len(self.state.waiting) >= PIECE:
            self._settle()

    def seen_again(self) -> None:
        """Say that the line was not seen for a while: what came before is settled, the place is to be found anew."""
        self.settle_all()
        # the last few, with nothing right after them, cannot be told from the first of what comes next
        self.state.place, self.state.waiting = None, []

    def begins(self, source: str) -> bool:
        """Say where the codes come from now; return whether it is the file that was read before, from its beginning.

        Args:
            source: name of a file; empty for a source whose past does not come again.
        """
        state = self.state
        if source and source == state.source:
            return True
        if state.seconds:
            self.seen_again()
        state.source, state.source_seconds, state.source_last_s = source, 0.0, -1.0
        return False

    def settle_all(self) -> None:
        """Settle all that waits, as at the end."""
        if len(self.state.waiting) > RIGHT_AT_END:
            n = len(self.state.waiting)
            self._settle(range(max(1, n - AT_END), n + AT_END + 1))

    def _settle(self, lengths: range | None = None) -> None:
        """Lay what waits beside the text and count; keep what comes after the last right stretch.

        Args:
            lengths: settle all of it, beside the best of so many codes of the text.
        """
        state = self.state
        if state.place is None:
            state.place = self._find_place(state.waiting)
        tried = [self._laid_beside(state.place, n) for n in lengths or (len(state.waiting),)]
        pairs = min(tried, key=_wrong)
        if _wrong(pairs) > OUT_OF_STEP * len(pairs):
            self._out_of_step(pairs)
            return
        state.astray = 0
        settled = pairs if lengths else pairs[: _last_right_stretch(pairs)]
        self._count(settled, state.place)
        taken = sum(p.received is not None for p in settled)
        state.place = (state.place + sum(p.sent is not None for p in settled)) % len(self.text)
        state.waiting = state.waiting[taken:]

    def _out_of_step(self, pairs: list[Pair]) -> None:
        """Count a piece that is more than half wrong: wrong from its first wrong one to a long run."""
        state = self.state
        first = 0 if state.astray else next(i for i, p in enumerate(pairs) if not p.right)
        came_before = sum(p.received is not None for p in pairs[:first])
        tail = next((n for n, p in enumerate(reversed(pairs)) if not p.right), len(pairs))
        place, run = self._run_at_the_end(state.waiting)
        wrong = len(state.waiting) - came_before - (run if run >= IN_STEP_AGAIN else 0)
        if tail >= IN_STEP_AGAIN:
            # junk is as long as what came of it or what should have come
            junk = pairs[first : len(pairs) - tail]
            wrong = max(sum(p.sent is not None for p in junk), sum(p.received is not None for p in junk))
            run, place = tail, ((state.place or 0) + sum(p.sent is not None for p in pairs)) % len(self.text)
        state.out_of_step += not state.astray
        state.astray += wrong
        state.longest_stray = max(state.longest_stray, state.astray)
        self._count(pairs[:first], state.place or 0)
        self._count_columns(wrong, right=False)
        state.place, state.waiting = None, []
        if run >= IN_STEP_AGAIN:
            self._count_columns(run, right=True)
            state.place, state.astray = place, 0

    def _run_at_the_end(self, codes: list[str]) -> tuple[int, int]:
        """Return the place in the text that comes next, and how many of the last codes are right for it, at best."""
        n = len(self.text)

        def run(end: int) -> int:
            wrong = (i for i in range(len(codes)) if self.text[(end - 1 - i) % n] != codes[-1 - i])
            return next(wrong, len(codes))

        return max(((end, run(end)) for end in range(n)), key=lambda each: each[1])

    def _count_columns(self, columns: int, *, right: bool) -> None:
        self.state.characters += columns
        self.state.stray += 0 if right else columns
        for _ in range(columns):
            self._into_block(right=right)

    def _into_block(self, *, right: bool) -> None:
        state = self.state
        state.events += not right and state.right_since >= IN_STEP_AGAIN
        state.right_since = state.right_since + 1 if right else 0
        state.block_characters += 1
        state.block_wrong += not right
        if state.block_characters == BLOCK:
            state.blocks += 1
            state.errored_blocks += state.block_wrong > 0
            state.block_characters = state.block_wrong = 0

    def _laid_beside(self, place: int, codes: int) -> list[Pair]:
        """Lay what waits beside so many codes of the text; those at the end are not lost, but not yet sent."""
        ahead = [self.text[(place + i) % len(self.text)] for i in range(codes)]
        pairs = list(align(ahead, self.state.waiting).pairs)
        while pairs and pairs[-1].received is None:
            pairs.pop()
        return pairs

    def _count(self, pairs: list[Pair], place: int) -> None:
        """Count columns; the first of them stands at this place of the text."""
        state, n = self.state, len(self.text)
        state.characters += len(pairs)
        unasked: list[str] = []
        for p in pairs:
            self._into_block(right=p.right)
            if p.sent is None:
                state.extra += 1
                unasked.append(p.received or "")
                continue
            if unasked:
                here = state.by_place.setdefault(place, ByPlace())
                here.extra, here.codes, unasked = here.extra + 1, unasked[:MOST_CODES], []
            if not p.right:
                state.lost += p.received is None
                state.changed += p.received is not None
                state.by_place.setdefault(place, ByPlace()).wrong += 1
            state.rounds += 1 / n
            place = (place + 1) % n

    def _find_place(self, codes: list[str]) -> int:
        """Return the place in the text at which these codes begin, by the most that are right."""
        some, n = codes[:PLACED_BY], len(self.text)

        def right(place: int) -> int:
            return sum(self.text[(place + i) % n] == code for i, code in enumerate(some))

        return max(range(n), key=lambda place: (right(place), -place))

    def _log(self, unit_ms: float, at_s: float) -> None:
        state = self.state
        # what comes out late may have been keyed before the mark
        at_s = max(at_s - state.begun_s, 0.0)
        number = int(at_s / state.bin_s)
        while number >= MOST_BINS:
            pairs = zip(state.bins[::2], [*state.bins[1::2], Bin()], strict=False)
            state.bins, state.bin_s = [a.joined(b) for a, b in pairs], 2 * state.bin_s
            number = int(at_s / state.bin_s)
        while len(state.bins) <= number:
            state.bins.append(Bin())
        state.bins[number].take(unit_ms)


def _wrong(pairs: list[Pair]) -> int:
    return sum(not p.right for p in pairs)


def _last_right_stretch(pairs: list[Pair]) -> int:
    """Return how many columns there are up to the end of the last stretch of right ones; all when there is none."""
    run = 0
    for i in range(len(pairs) - 1, -1, -1):
        run = run + 1 if pairs[i].right else 0
        if run == RIGHT_AT_END:
            return i + RIGHT_AT_END
    return len(pairs)
