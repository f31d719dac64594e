r"""What may have turned the code sent into the code received: every kind that fits, best first.

Picture of the kinds (1 = mark, 0 = space, "start" is a space, "stop" a mark):

    drop mark       1 0 1 0 1  ->  1 0 0 0 1     a mark was not there
    drop space      0 1 0 1 0  ->  0 1 1 1 0     a space was filled
    shifted late    start[1 0 1 0 1]stop  ->  0 1 0 1 1     element n takes n+1, element 5 the stop mark
    shifted early   start[1 0 1 0 1]stop  ->  0 1 0 1 0     element n takes n-1, element 1 the start space
                    (either may begin at a later element: a receiver of the wrong speed gets further off with each)
    OR              1 0 0 0 0 after 0 0 0 0 1  ->  1 0 0 0 1     something was left over from the code before
    repeat          the code before came again, in place of this one or besides it
    reversed        1 1 0 0 0  ->  0 0 0 1 1     element 5 where element 1 belongs
    inverted        1 1 0 0 0  ->  0 0 1 1 1     mark and space exchanged

One wrong character seldom tells: T read as BLANK is a lost mark 5 as well as a code read one element early.
So all that fits is given. The order from one character alone (`ORDER`): one changed element first, then the
kinds that foretell the code exactly, then several changed elements; `tally` then puts that kind first which
explains most wrong characters of the whole text. Kinds as in the trade's way of counting: common practice,
no source; the shift maps follow from the code table alone.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import Enum

from tapewright.alphabets.alphabet import complement, reversed_order
from tapewright.message.alignment import Pair


class ErrorKind(Enum):
    """What happened to a code; the value is what reports print."""

    DROP_MARK = "drop mark"
    DROP_SPACE = "drop space"
    SHIFTED_EARLY = "shifted early"
    SHIFTED_LATE = "shifted late"
    OR_PREVIOUS = "OR with previous"
    REPEAT = "repeat"
    LOSS = "loss"
    EXTRA = "extra"
    REVERSED = "reversed order"
    INVERTED = "inverted"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class Fit:
    """One kind that fits.

    Attributes:
        kind: the kind.
        elements: the elements that came otherwise than sent, from 1; empty for losses and extras.
    """

    kind: ErrorKind
    elements: tuple[int, ...] = ()

    def __str__(self) -> str:
        """Write as reports print it, for example "drop mark 3"."""
        changed = self.kind in (ErrorKind.DROP_MARK, ErrorKind.DROP_SPACE, ErrorKind.MIXED)
        return " ".join([self.kind.value, *(map(str, self.elements) if changed else ())])


def sampled_late(code: str) -> str:
    """Return what a receiver reads that looks one element late: n takes n+1, the last takes the stop mark."""
    return code[1:] + "1"


def sampled_early(code: str) -> str:
    """Return what a receiver reads that looks one element early: n takes n-1, the first takes the start space."""
    return "0" + code[:-1]


def both_or(first: str, second: str) -> str:
    """Return the code that has a mark wherever one of the two has."""
    return "".join("1" if "1" in pair else "0" for pair in zip(first, second, strict=True))


#: the kinds that foretell the received code from the sent one alone
FORETOLD: dict[ErrorKind, Callable[[str], str]] = {
    ErrorKind.SHIFTED_LATE: sampled_late,
    ErrorKind.SHIFTED_EARLY: sampled_early,
    ErrorKind.INVERTED: complement,
    ErrorKind.REVERSED: reversed_order,
}

#: kinds that may begin at a later element: a receiver of the wrong speed is further off with each element
GROWS = (ErrorKind.SHIFTED_LATE, ErrorKind.SHIFTED_EARLY)

#: order among the kinds that foretell exactly, when nothing else decides
ORDER = (
    ErrorKind.REPEAT, ErrorKind.OR_PREVIOUS, ErrorKind.SHIFTED_LATE, ErrorKind.SHIFTED_EARLY,
    ErrorKind.INVERTED, ErrorKind.REVERSED,
)  # fmt: skip


def fits(pair: Pair, previous_sent: str | None, previous_received: str | None) -> tuple[Fit, ...]:
    """Return every kind that fits one column, best first; nothing for a code that came right.

    Args:
        pair: the column.
        previous_sent: the code sent before this column, None at the beginning.
        previous_received: the code received before it.
    """
    if pair.right:
        return ()
    if pair.received is None:
        return (Fit(ErrorKind.LOSS),)
    if pair.sent is None:
        again = pair.received in (previous_sent, previous_received)
        return (Fit(ErrorKind.REPEAT), Fit(ErrorKind.EXTRA)) if again else (Fit(ErrorKind.EXTRA),)
    before = {code for code in (previous_sent, previous_received) if code is not None}
    return _changed(pair.sent, pair.received, before)


def changed_elements(sent: str, received: str) -> tuple[int, ...]:
    """Return the numbers, from 1, of the elements that differ."""
    return tuple(n for n, (a, b) in enumerate(zip(sent, received, strict=True), start=1) if a != b)


def _changed(sent: str, received: str, before: set[str]) -> tuple[Fit, ...]:
    elements = changed_elements(sent, received)
    by_element = Fit(_direction(sent, elements), elements)
    exact = sorted(set(_foretelling(sent, received, before)), key=ORDER.index)
    rest = [Fit(kind, elements) for kind in exact]
    if len(elements) == 1:
        return (by_element, *rest)
    return tuple(rest) if rest and by_element.kind is ErrorKind.MIXED else (*rest, by_element)


def _direction(sent: str, elements: tuple[int, ...]) -> ErrorKind:
    lost = {sent[n - 1] for n in elements}
    return {"1": ErrorKind.DROP_MARK, "0": ErrorKind.DROP_SPACE}[lost.pop()] if len(lost) == 1 else ErrorKind.MIXED


def _foretelling(sent: str, received: str, before: set[str]) -> Iterator[ErrorKind]:
    for kind, foretell in FORETOLD.items():
        other = foretell(sent)
        firsts = range(len(sent)) if kind in GROWS else (0,)
        if any(received == sent[:first] + other[first:] for first in firsts):
            yield kind
    for code in before:
        if code == received:
            yield ErrorKind.REPEAT
        if both_or(sent, code) == received:
            yield ErrorKind.OR_PREVIOUS
