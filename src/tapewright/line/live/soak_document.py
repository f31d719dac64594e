"""A soak so far, as the document tapewright/soak/1."""

from itertools import pairwise
from typing import Annotated, Any, Literal, TypeVar

from tapewright.furniture.document import Document, figure, told
from tapewright.line.live.soak import SoakState
from tapewright.line.live.soak_sides import BLOCK, FEWEST_IN_BIN, Side, between
from tapewright.number import Limit, Reading, Source, Standing, Verdict, judge_interval, missing

C = TypeVar("C", bound="Counted")
Kind = Literal["wrong", "extra"]
#: what comes wrong in so many rounds, and in this share of them, comes wrong in each round
FEWEST_ROUNDS, EACH_ROUND = 3, 0.5


class Counted(Document, frozen=True):
    """What was counted since an adjustment, or before it."""

    minutes: Annotated[float, figure("of line taken in", "min")]
    characters: Annotated[int, figure("characters", says="Columns of the alignments: sent, or come unasked.")]
    wrong: Annotated[int, figure("wrong")]
    changed: Annotated[int, figure("changed")]
    lost: Annotated[int, figure("lost")]
    extra: Annotated[int, figure("extra")]
    stray: Annotated[int, figure("out of step", says="Characters wrong by that; they are among `wrong`.")]
    out_of_step: Annotated[int, figure("times out of step")]
    longest_stray: Annotated[int, figure("longest stretch out of step", says="In characters.")]
    rate_upper_95: Annotated[
        float, figure("share wrong, at most", says="Errors one by one: Clopper-Pearson, one-sided.")
    ]
    in_bursts: Annotated[bool, told("Errors come in bursts: `rate_upper_95` may not be claimed.")]
    burst_rate_upper_95: Annotated[
        float, figure("share wrong, at most, bursts or not", says="Chernoff's bound over blocks.")
    ]
    block_characters: Annotated[int, told("Characters of a block.")]
    blocks: Annotated[int, figure("blocks")]
    errored_blocks: Annotated[int, figure("blocks with an error")]
    block_rate_upper_95: Annotated[float, figure("share of such blocks, at most", says="Clopper-Pearson, one-sided.")]
    events: Annotated[int, figure("events", says="Errors, those near each other as one.")]
    minutes_between_events: Annotated[float | None, figure("between events", "min", "Null when there was none.")]
    minutes_between_events_95: Annotated[
        tuple[float, float | None], told("Its interval, exact for events one by one; the upper end null for no event.")
    ]
    drift_percent: Annotated[Reading, figure("drift", says="The last part against the first.", signed=True)]
    ripple_percent: Annotated[float | None, figure("largest ripple", "percent")]


class SoakSide(Counted, frozen=True):
    """What was counted on one side of an adjustment."""

    adjusted: Annotated[str, told("What was done before it; empty for nothing.")]
    unit_ms: Annotated[Reading, figure("unit")]


class Adjusted(Document, frozen=True):
    """What an adjustment did, as far as the soak shows it."""

    adjusted: str
    faster_percent: Annotated[Reading, figure("speed after it against before", signed=True)]
    rates_differ: Annotated[bool, told("Whether the shares of errors are shown to differ: p below 0.05.")]
    p: Annotated[float | None, told("Fisher's exact test, two-sided.")]


class EachRound(Document, frozen=True):
    """What comes wrong at the same place of each round: no fault of chance."""

    character: Annotated[int, told("Place in the text, from 1.")]
    kind: Annotated[Kind, told("Extra: characters come before it unasked.")]
    rounds: Annotated[int, told("In so many rounds.")]
    of_rounds: int
    codes: Annotated[tuple[str, ...], told("What came unasked, when last seen.")]


class SpeedLog(Document, frozen=True):
    """The speed over time."""

    bin_s: float
    unit_ms: Annotated[tuple[Reading, ...], told("One for each bin.")]


class SoakSoFar(Counted, frozen=True):
    """A soak so far: a known text over and over, errors counted.

    Exit code 0 when the claim is shown, 1 when more than it allows is shown to be wrong, else 3.
    """

    format: Literal["tapewright/soak/1"]
    minutes_in_all: Annotated[float, figure("in all", "min")]
    adjusted: Annotated[
        str, told("What was adjusted last; all but minutes_in_all, restarts, sides, between is since then.")
    ]
    waiting: Annotated[int, told("Characters that came and are not settled.")]
    broken: Annotated[int, figure("characters without a stop")]
    gaps: Annotated[int, figure("times the line was not seen")]
    restarts: Annotated[int, figure("restarts")]
    each_round: tuple[EachRound, ...]
    sides: Annotated[tuple[SoakSide, ...], told("Oldest first; the last is the one that runs.")]
    between: Annotated[tuple[Adjusted, ...], told("What each adjustment did.")]
    speed_log: SpeedLog
    verdicts: Annotated[tuple[Verdict, ...], told("The claim: the share of wrong characters against its limit.")]


def soak_document(state: SoakState, claim: float = 1e-3) -> SoakSoFar:
    """Return the document; `claim` is the share of wrong characters that is to be shown."""
    side = state.side()
    sides = [*state.earlier, side]
    bins = tuple(Reading(b.mean, b.u, "ms", b.n) if b.n >= FEWEST_IN_BIN else missing("ms", "") for b in state.bins)
    return _counted(
        SoakSoFar,
        side,
        format="tapewright/soak/1",
        minutes_in_all=state.seconds / 60,
        adjusted=state.label,
        waiting=len(state.waiting),
        broken=state.broken,
        gaps=state.gaps,
        restarts=state.restarts,
        each_round=tuple(each_round(state)),
        sides=tuple(_side(each) for each in sides),
        between=tuple(_between(*pair) for pair in pairwise(sides)),
        speed_log=SpeedLog(bin_s=state.bin_s, unit_ms=bins),
        verdicts=(judged(side, claim),),
    )


def judged(side: Side, claim: float) -> Verdict:
    """Return whether the share of wrong characters is shown to be below the claim."""
    limit = Limit("share of wrong characters", None, claim, "", Source("--claim", "", Standing.OWNER))
    if not side.characters:
        return judge_interval(0.0, 1.0, limit)
    verdict = judge_interval(min(side.lower_95, side.shown_upper_95), side.shown_upper_95, limit)
    return verdict.but(value=side.wrong / side.characters)


def each_round(state: SoakState) -> list[EachRound]:
    """Return what comes wrong at the same place of each round, in the order of the text."""
    rounds = round(state.rounds)
    found = []
    for place, here in sorted(state.by_place.items()):
        found_here: tuple[tuple[Kind, int], ...] = (("extra", here.extra), ("wrong", here.wrong))
        for kind, times in found_here:
            if times >= max(FEWEST_ROUNDS, EACH_ROUND * rounds):
                codes = tuple(here.codes) if kind == "extra" else ()
                found.append(
                    EachRound(character=place + 1, kind=kind, rounds=times, of_rounds=max(rounds, times), codes=codes)
                )
    return found


def _counted(kind: type[C], side: Side, **more: Any) -> C:
    """Return a record of this kind with what was counted on a side."""
    mean, low, high = side.minutes_between_events()
    drift = missing("percent", "it needs a few minutes")
    if side.drift_percent is not None:
        drift = Reading(side.drift_percent, side.drift_u_percent, "percent", side.characters)
    return kind(
        minutes=side.seconds / 60,
        characters=side.characters,
        wrong=side.wrong,
        changed=side.changed,
        lost=side.lost,
        extra=side.extra,
        stray=side.stray,
        out_of_step=side.out_of_step,
        longest_stray=side.longest_stray,
        rate_upper_95=side.rate.upper_95,
        in_bursts=side.in_bursts,
        burst_rate_upper_95=side.burst_rate_upper_95,
        block_characters=BLOCK,
        blocks=side.blocks,
        errored_blocks=side.errored_blocks,
        block_rate_upper_95=side.block_rate.upper_95,
        events=side.events,
        minutes_between_events=mean,
        minutes_between_events_95=(low, high),
        drift_percent=drift,
        ripple_percent=side.ripple_percent or None,
        **more,
    )


def _side(side: Side) -> SoakSide:
    known = side.unit_ms > 0
    unit = (
        Reading(side.unit_ms, side.unit_u_ms, "ms", side.characters) if known else missing("ms", "too few characters")
    )
    return _counted(SoakSide, side, adjusted=side.label, unit_ms=unit)


def _between(before: Side, after: Side) -> Adjusted:
    found = between(before, after)
    faster = missing("percent", "the speed of one side is not known")
    if found.faster_percent is not None:
        faster = Reading(found.faster_percent, found.u_percent, "percent", after.characters)
    return Adjusted(adjusted=after.label, faster_percent=faster, rates_differ=found.rates_differ, p=found.p)
