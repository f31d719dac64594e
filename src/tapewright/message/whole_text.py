"""One cause that explains the whole text: wires in reversed order, polarity, sampling one element off, a delay.

When one character in five or more is wrong, or the text seems to come late, each is tried as if it were so: the
sent text is turned the way the cause would turn it and aligned again (its beginning first, and all of it when
that looks promising).
A cause counts as an explanation when it leaves at most half as many wrong characters as taking the text as
sent does, and at most one in three wrong. Causes that explain equally well are all given: R Y R Y inverted
is also R Y R Y one character late, and only another text can tell.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from tapewright.alphabets.alphabet import complement, reversed_order
from tapewright.message.alignment import Alignment, align
from tapewright.message.kinds import both_or, sampled_early, sampled_late

AS_SENT = "as sent"
#: below this many wrong characters a text is too short to blame all of it on one cause
FEWEST_WRONG, LEAST_SHARE_WRONG = 2, 0.2
#: a long text is tried on its beginning first
BEGINNING = 300

def _each(turn: Callable[[str], str]) -> Callable[[Sequence[str]], list[str]]:
    return lambda codes: [turn(code) for code in codes]


def left_over(codes: Sequence[str]) -> list[str]:
    """Return what comes when the marks of each character stay for the next one."""
    return [*codes[:1], *(both_or(code, before) for before, code in pairwise(codes))]


#: cause -> what it makes of a text; AS_SENT first, then in the order given when they explain equally well
TURNED: dict[str, Callable[[Sequence[str]], list[str]]] = {
    AS_SENT: list,
    "mark and space exchanged": _each(complement),
    "element order reversed": _each(reversed_order),
    "element order reversed, mark and space exchanged": _each(lambda code: complement(reversed_order(code))),
    "sampled one element late": _each(sampled_late),
    "sampled one element early": _each(sampled_early),
    "marks left over from the character before": left_over,
}


@dataclass(frozen=True, slots=True)
class Explanation:
    """A cause that explains the text, and what it leaves unexplained.

    Attributes:
        cause: one of `TURNED`, or "the text is N characters late" or "... missing at the beginning".
        wrong: characters still wrong if it is so.
        alignment: sent against received as this cause sees it; its pairs hold the codes really sent.
    """

    cause: str
    wrong: int
    alignment: Alignment


def explain_whole(sent: Sequence[str], received: Sequence[str]) -> tuple[Explanation, ...]:
    """Return what explains the text, best first; always at least one, and `AS_SENT` when nothing else does."""
    plain = _try(AS_SENT, sent, received)
    found = []
    if plain.wrong >= FEWEST_WRONG:
        others = _delayed(plain)
        if others or plain.wrong >= LEAST_SHARE_WRONG * len(plain.alignment.pairs):
            others += [_try(cause, sent, received) for cause in _promising(sent, received)]
        found = [other for other in others if _explains(other, plain)]
    return (*sorted(found, key=lambda other: other.wrong), plain)


def _promising(sent: Sequence[str], received: Sequence[str]) -> list[str]:
    """Return the causes that explain the beginning of a long text; of a short one all."""
    causes = [cause for cause in TURNED if cause != AS_SENT]
    if len(sent) <= BEGINNING:
        return causes
    begin = sent[:BEGINNING], received[:BEGINNING]
    plain = _try(AS_SENT, *begin)
    return [cause for cause in causes if _explains(_try(cause, *begin), plain)]


def _try(cause: str, sent: Sequence[str], received: Sequence[str]) -> Explanation:
    turned = align(TURNED[cause](sent), received)
    return Explanation(cause, sum(not pair.right for pair in turned.pairs), _as_sent(turned, sent))


def _as_sent(turned: Alignment, sent: Sequence[str]) -> Alignment:
    pairs = (p if p.sent_index is None else replace(p, sent=sent[p.sent_index]) for p in turned.pairs)
    return replace(turned, pairs=tuple(pairs))


def _explains(other: Explanation, plain: Explanation) -> bool:
    return 2 * other.wrong <= plain.wrong and 3 * other.wrong <= len(other.alignment.pairs)


def _delayed(plain: Explanation) -> list[Explanation]:
    """Take a run of extras or losses at the beginning as a delay; what it pushes out at the end goes with it."""
    pairs = plain.alignment.pairs
    head = next((n for n, pair in enumerate(pairs) if None not in (pair.sent, pair.received)), len(pairs))
    tail = next((n for n, pair in enumerate(reversed(pairs)) if None not in (pair.sent, pair.received)), len(pairs))
    if head == 0 or head == len(pairs):
        return []
    late = pairs[0].sent is None
    characters = f"{head} character{'s' if head > 1 else ''}"
    cause = f"the text is {characters} late" if late else f"{characters} missing at the beginning"
    wrong = sum(not pair.right for pair in pairs[head : len(pairs) - tail])
    return [Explanation(cause, wrong, plain.alignment)]
