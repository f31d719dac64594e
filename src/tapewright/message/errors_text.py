"""A comparison of sent and received in a mechanic's words, the same for line and tape."""

from collections.abc import Iterator

from tapewright.alphabets import Alphabet
from tapewright.message import Comparison, ErrorKind
from tapewright.message.tally import Dependence, ElementTally, Loneliness
from tapewright.message.whole_text import AS_SENT

#: below this chance an unevenness is worth a sentence: one in a thousand looks
RARE = 1e-3
#: so many of the commonest substitutions and kinds are written out
MOST_LINES = 6
#: a kind that fits so many of the wrong characters is said first, when there are at least so many
NEARLY_ALL, FEWEST = 0.8, 3
MEANING = {
    ErrorKind.SHIFTED_LATE: "elements were taken from the one after; the receiver looks late, or is slow",
    ErrorKind.SHIFTED_EARLY: "elements were taken from the one before; the receiver looks early, or is fast",
    ErrorKind.OR_PREVIOUS: "marks were left over from the character before; a reset comes short or late",
    ErrorKind.REPEAT: "the character before came again; look at what should keep a key from repeating",
    ErrorKind.LOSS: "characters did not come at all, the others are right",
    ErrorKind.EXTRA: "characters came that nobody sent, the others are right",
    ErrorKind.INVERTED: "mark and space are exchanged",
    ErrorKind.REVERSED: "the elements are in reversed order",
}


def errors_text(comparison: Comparison, alphabet: Alphabet) -> str:
    """Write what was wrong, one finding a line, the most telling first."""
    whole = [*_causes(comparison), *_leading_kind(comparison)]
    details = [] if whole else _elements(comparison)
    return "\n".join([_rate(comparison), *whole, *details, *_kinds(comparison, alphabet)])


def _rate(comparison: Comparison) -> str:
    rate = comparison.rate
    if not rate.n:
        return "Nothing was expected and nothing came."
    shown = f"at 95 % confidence fewer than {_percent(rate.upper_95)} are wrong"
    if not rate.wrong:
        return f"All {_characters(rate.n)} came as expected; {shown}."
    shown = "nothing better is shown" if rate.wrong == rate.n else shown
    return f"{rate.wrong} of {_characters(rate.n)} came wrong ({_percent(rate.wrong / rate.n)}); {shown}."


def _causes(comparison: Comparison) -> Iterator[str]:
    found = [e for e in comparison.explanations if e.cause != AS_SENT]
    if not found:
        return
    best = [e for e in found if e.wrong == found[0].wrong]
    left = f"leaves {found[0].wrong} unexplained" if found[0].wrong else "explains all of it"
    yield f"One cause {left}: {' or '.join(e.cause for e in best)}."
    if len(best) > 1:
        yield "This text cannot tell them apart: send another, for example all pairs of codes."


def _leading_kind(comparison: Comparison) -> Iterator[str]:
    wrong = comparison.tally.wrong
    if len(comparison.explanations) > 1 or wrong < FEWEST:
        return
    kind, n = next(iter(comparison.tally.kinds.items()))
    if kind in MEANING and n >= NEARLY_ALL * wrong:
        yield f"{n} of the {wrong} wrong ones fit one kind, {kind.value}: {MEANING[kind]}."
    elif n < wrong / 2 and wrong > comparison.rate.n / 2:
        yield (
            "So much is wrong, and in so many ways, that single elements say nothing. "
            "First make sure of the expected text, the speed and the polarity."
        )


def _elements(comparison: Comparison) -> Iterator[str]:
    """Say what happened to each element; where one cause explains nearly all, these traces would mislead."""
    for entry in comparison.tally.by_element:
        yield from _one_element(entry)
    yield from _lone("Marks", "spaces", "slow pull-in", comparison.tally.lone_marks)
    yield from _lone("Spaces", "marks", "slow release", comparison.tally.lone_spaces)


def _one_element(entry: ElementTally) -> Iterator[str]:
    for what, other, wrong, every, dependence in (
        ("marks", "space", entry.dropped_marks, entry.marks, entry.mark_dependence),
        ("spaces", "mark", entry.dropped_spaces, entry.spaces, entry.space_dependence),
    ):
        if wrong:
            yield f"Element {entry.element}: {wrong} of {every} {what} came as {other}."
            yield from _depends(dependence)


def _depends(found: Dependence | None) -> Iterator[str]:
    if found is not None and found.p_value < RARE:
        after_mark, after_space = (f"{wrong} of {every}" for wrong, every in (found.after_mark, found.after_space))
        yield (
            f"  It depends on the character before: {after_mark} after a mark there, {after_space} after a space. "
            "Look for a part that does not travel one way, not at the timing."
        )


def _lone(what: str, others: str, cause: str, found: Loneliness | None) -> Iterator[str]:
    if found is not None and found.p_value < RARE and found.lone[0] * found.joined[1] > found.joined[0] * found.lone[1]:
        lone, joined = (f"{wrong} of {every}" for wrong, every in (found.lone, found.joined))
        yield f"{what} alone between two {others} come wrong more often ({lone}; others {joined}): {cause}?"


def _kinds(comparison: Comparison, alphabet: Alphabet) -> Iterator[str]:
    if comparison.tally.kinds:
        yield "Kinds: " + ", ".join(f"{kind.value} {n}" for kind, n in comparison.tally.kinds.items()) + "."
    commonest = list(comparison.tally.read_as.items())[:MOST_LINES]
    if commonest:
        names = (f"{_name(a, alphabet)} as {_name(b, alphabet)} ({n})" for (a, b), n in commonest)
        more = len(comparison.tally.read_as) - len(commonest)
        yield "Read: " + ", ".join(names) + (f" and {more} more" if more else "") + "."


def _name(code: str, alphabet: Alphabet) -> str:
    return alphabet.letter(code) if code in alphabet.letters else code


def _characters(n: int) -> str:
    return f"{n} character{'s' * (n != 1)}"


def _percent(share: float) -> str:
    """Write a share so that its bound is never rounded down to less than it is."""
    return f"{100 * share:.3g} %" if share >= 1e-6 else "0.0001 %"
