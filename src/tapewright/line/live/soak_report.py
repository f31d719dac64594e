"""A soak so far in words, from its document."""

from collections.abc import Iterator

from tapewright.alphabets import Alphabet
from tapewright.alphabets.shift import Shift, shown
from tapewright.furniture.writing import ANSWERS, write
from tapewright.line.live.soak_document import Adjusted, Counted, EachRound, SoakSide, SoakSoFar
from tapewright.message.rate import characters_to_show
from tapewright.number import State


def soak_text(soak: SoakSoFar, alphabet: Alphabet) -> str:
    """Return the document in words, what went worst first."""
    return "\n".join([*_worst(soak, alphabet), *_counts(soak), *_speed(soak), *_sides(soak)])


def _worst(soak: SoakSoFar, alphabet: Alphabet) -> Iterator[str]:
    if soak.out_of_step:
        yield (
            f"OUT OF STEP {_times(soak.out_of_step)}: {soak.stray} characters wrong by that, {soak.longest_stray} in "
            "the longest stretch. All of them count."
        )
    yield from (_each_round(each, alphabet) for each in soak.each_round)


def _each_round(each: EachRound, alphabet: Alphabet) -> str:
    rounds = f"in {each.rounds} of {each.of_rounds} rounds"
    if each.kind == "wrong":
        return f"THE SAME IN EACH ROUND: character {each.character} of the text came wrong {rounds}. That is no chance."
    codes = " ".join(_name(code, alphabet) for code in each.codes)
    many = f"{len(each.codes)} extra code{'s' * (len(each.codes) > 1)} ({codes})"
    end = "at the end of each round" if each.character == 1 else f"before character {each.character} of the text"
    lacks = "the text you gave has no such end, or the tape has one too many" if each.character == 1 else (
        "the text you gave lacks them, or the sender makes them there"
    )  # fmt: skip
    return f"THE SAME IN EACH ROUND: {many} {end}, {rounds}: {lacks}."


def _name(code: str, alphabet: Alphabet) -> str:
    sign = alphabet.letters[code]
    return sign.value if not isinstance(sign, str) else shown(code, Shift.LETTERS, alphabet)


def _counts(soak: SoakSoFar) -> Iterator[str]:
    since = f"Since the last adjustment ({soak.adjusted}): " if soak.adjusted else ""
    yield (
        f"{since}{soak.minutes:.1f} minutes, {soak.characters} characters, {soak.wrong} wrong: {soak.changed} changed, "
        f"{soak.lost} lost, {soak.extra} extra, {soak.stray} out of step."
    )
    if not soak.characters:
        return
    if not soak.in_bursts:
        bursts = f" Bursts or not, it is below {_percent(soak.burst_rate_upper_95)}." if soak.blocks else ""
        yield (
            f"The rate of errors is below {_percent(soak.rate_upper_95)} at 95 % confidence, if they come one by one "
            f"(Clopper and Pearson).{bursts}"
        )
    else:
        yield (
            f"The errors come in bursts: the bound for errors one by one ({_percent(soak.rate_upper_95)}) may not be "
            f"claimed. {_percent(soak.wrong / soak.characters)} were wrong; the rate is below "
            f"{_percent(soak.burst_rate_upper_95)} at 95 % confidence, bursts or not (blocks)."
        )
    if soak.blocks and soak.wrong:
        yield (
            f"{soak.errored_blocks} of {soak.blocks} blocks of {soak.block_characters} characters held an error; the "
            f"share of such blocks is below {_percent(soak.block_rate_upper_95)} at 95 % confidence."
        )
    low, high = soak.minutes_between_events_95
    if soak.minutes_between_events is not None:
        between = f"{soak.minutes_between_events:.3g} minutes ({low:.3g} to {high:.3g} at 95 % confidence)"
        yield f"{soak.events} event{'s' * (soak.events != 1)} (errors near each other are one), one in {between}."
    verdict = soak.verdicts[0]
    claim = verdict.limit.high or 0.0
    yield f"At most {_percent(claim)} wrong ({verdict.limit.source}): {ANSWERS[verdict.state]}."
    left = characters_to_show(claim) - soak.characters
    if not soak.wrong and verdict.state is State.NOT_SHOWN and left > 0:
        yield f"{left} more without an error would show that it is below one in {1 / claim:.4g}."


def _speed(soak: SoakSoFar) -> Iterator[str]:
    if soak.drift_percent.value is None:
        yield "Drift is not shown yet: it needs a few minutes."
    else:
        yield f"The speed went by {write(soak.drift_percent, signed=True)} from the first to the last part."
    if soak.ripple_percent:
        yield f"Largest ripple seen: {soak.ripple_percent:.2f} %."
    for count, what in (
        (soak.broken, "characters came without a stop"),
        (soak.gaps, "times the line was not seen"),
        (soak.restarts, "restarts; what passed in between is not counted"),
    ):
        if count:
            yield f"{count} {what}."


def _sides(soak: SoakSoFar) -> Iterator[str]:
    if not soak.between:
        return
    yield "Before:"
    yield from (_earlier(side) for side in soak.sides[:-1])
    yield "What each adjustment did:"
    for before, after, did in zip(soak.sides, soak.sides[1:], soak.between, strict=False):
        yield f"  {did.adjusted}: {_errors(did, before, after)}; {_faster(did)}."


def _errors(did: Adjusted, before: Counted, after: Counted) -> str:
    counts = f"{before.wrong} of {before.characters} wrong before, {after.wrong} of {after.characters} after"
    if did.p is None:
        return f"{counts}, too little to compare"
    way = "fewer" if after.wrong * before.characters < before.wrong * after.characters else "more"
    return f"{counts}: {way} is shown" if did.rates_differ else f"{counts}: no difference is shown"


def _faster(did: Adjusted) -> str:
    if did.faster_percent.value is None:
        return "the speed of one side is not known"
    return f"the speed went by {write(did.faster_percent, signed=True)}"


def _earlier(side: SoakSide) -> str:
    """Return a side that is closed, in a line."""
    what = f"after {side.adjusted}" if side.adjusted else "as it was"
    below = f", rate below {_percent(side.rate_upper_95)}" if side.characters else ""
    told = [f"{what}: {side.minutes:.1f} min, {side.characters} characters, {side.wrong} wrong{below}"]
    if side.drift_percent.value is not None:
        told.append(f"drift {write(side.drift_percent, signed=True)}")
    if side.ripple_percent:
        told.append(f"ripple {side.ripple_percent:.2f} %")
    return "  " + ", ".join(told)


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
