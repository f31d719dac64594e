"""Sent against received, whole: one cause for all, alignment, kinds, counts, rate.

The message in what came: without the lead-in and run-out that nobody counts as part of the text.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.message.alignment import Alignment, Pair
from tapewright.message.kinds import ErrorKind, Fit, fits
from tapewright.message.rate import ErrorRate, error_rate
from tapewright.message.tally import Tally, tally
from tapewright.message.whole_text import Explanation, explain_whole

#: What leaders on tape are made of: blank, and all holes (LTRS).
IDLE = ("00000", "11111")
#: What an operator keys before and after a text, besides: carriage return, line feed.
KEYED = (*IDLE, "00010", "01000")


def message(codes: Sequence[str], expected: Sequence[str]) -> list[str]:
    """Return the codes without the leader and trailer of blanks and LTRS that the expected text does not have."""
    return _without(codes, expected, IDLE, 0)


def keyed_message(codes: Sequence[str], expected: Sequence[str]) -> list[str]:
    """Return the codes without LTRS, blanks, CR and LF keyed before and after the expected text.

    Only as many are left out as came too many: a first character that came as one of these is an error, not a lead-in.
    """
    return _without(codes, expected, KEYED, len(expected))


def _without(codes: Sequence[str], expected: Sequence[str], idle: Sequence[str], fewest: int) -> list[str]:
    low, high = 0, len(codes)
    if not expected:
        return list(codes)
    while high - low > fewest and codes[low] in idle and codes[low] != expected[0]:
        low += 1
    while high - low > fewest and codes[high - 1] in idle and codes[high - 1] != expected[-1]:
        high -= 1
    return list(codes[low:high])


#: kinds whose changed elements are part of what they say; of the others they only follow
_BY_ELEMENT = (ErrorKind.DROP_MARK, ErrorKind.DROP_SPACE, ErrorKind.MIXED)


@dataclass(frozen=True, slots=True)
class Judged:
    """One column with what may have happened to it.

    Attributes:
        pair: the column.
        previous: the code sent before it, None at the beginning.
        fits: every kind that fits, the one that explains most of the whole text first; empty when right.
    """

    pair: Pair
    previous: str | None
    fits: tuple[Fit, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """What was sent against what came.

    Attributes:
        sent: number of codes sent.
        received: number of codes received.
        columns: sent and received beside each other, in order.
        explanations: causes that explain the whole text, best first; the last is always the text as sent.
        tally: the counts.
        rate: share of wrong characters with its upper bound.
        alignment: the alignment the columns come from: that of the best explanation.
    """

    sent: int
    received: int
    columns: tuple[Judged, ...]
    explanations: tuple[Explanation, ...]
    tally: Tally
    rate: ErrorRate
    alignment: Alignment


def compare(sent: Sequence[str], received: Sequence[str]) -> Comparison:
    """Compare the codes sent with those received ("11000", element 1 first).

    Raises:
        ValueError: when a code is not made of 0 and 1, or they differ in length.
    """
    explanations = explain_whole(sent, received)
    alignment = explanations[0].alignment
    columns = _judge(alignment)
    counts = tally([(c.pair, c.previous, c.fits[0] if c.fits else None) for c in columns])
    rate = error_rate(counts.wrong, len(columns))
    return Comparison(len(sent), len(received), columns, explanations, counts, rate, alignment)


def _judge(alignment: Alignment) -> tuple[Judged, ...]:
    found: list[Judged] = []
    previous_sent = previous_received = None
    for pair in alignment.pairs:
        found.append(Judged(pair, previous_sent, fits(pair, previous_sent, previous_received)))
        previous_sent = pair.sent or previous_sent
        previous_received = pair.received or previous_received
    support = Counter(_key(fit) for column in found for fit in column.fits)
    return tuple(Judged(c.pair, c.previous, _ranked(c, support)) for c in found)


def _ranked(column: Judged, support: Counter[tuple[ErrorKind, tuple[int, ...]]]) -> tuple[Fit, ...]:
    if column.pair.sent is None:
        return column.fits  # a repeat is an extra with more said about it
    # sorted() keeps the order of one character alone where the text does not decide
    return tuple(sorted(column.fits, key=lambda fit: -support[_key(fit)]))


def _key(fit: Fit) -> tuple[ErrorKind, tuple[int, ...]]:
    return fit.kind, fit.elements if fit.kind in _BY_ELEMENT else ()
