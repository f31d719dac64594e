"""The line and the tape of one event beside each other: on which side of the interface a fault lies.

    keys > code bars >--+--> contacts > line           line right, tape wrong: the punch side
                        |                              line wrong, tape right: the contact side
                        +--> interposers > pins > tape both wrong alike: before the parting, keys or code bars

Wrong on one output only points behind the parting; wrong alike on both points before it (common practice, no source).
Without the text that was sent, a difference says only that one of the two sides is at fault, not which.
What one of them does not have at its beginning or end is set apart: it was begun later, or ended sooner.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from tapewright.message.overlap import align_overlap, columns, ends_beyond


class Side(Enum):
    """Where a difference points."""

    PUNCH = "punch side"
    CONTACTS = "contact side"
    BEFORE = "before the parting"
    BOTH = "both sides, or before the parting"
    EITHER = "one of the two sides"
    ALONE = "the other has nothing there"


@dataclass(frozen=True, slots=True)
class Place:
    """One character that is not the same everywhere.

    Attributes:
        sent: code sent; None when not known, or for an extra.
        line: code on the line, None when lost there.
        tape: code on the tape, None when lost there.
        number: its place from 0 in the sent text, or on the line when the sent text is not known.
        side: where it points.
    """

    sent: str | None
    line: str | None
    tape: str | None
    number: int
    side: Side


@dataclass(frozen=True, slots=True)
class Beyond:
    """Characters at an end that a witness does not have.

    Attributes:
        witness: "line" or "tape".
        end: "beginning" or "end".
        characters: how many.
    """

    witness: str
    end: str
    characters: int


@dataclass(frozen=True, slots=True)
class TwoWitnesses:
    """What line and tape prove together.

    Attributes:
        compared: characters compared, that is, those within the reach of both.
        places: where something is not as it should be.
        sides: how many point to each side.
        with_sent: whether the sent text was known.
        extras: codes on line or tape that answer no sent character: (line, tape).
        beyond: what lies beyond the beginning or end of a witness, and is counted against nobody.
    """

    compared: int
    places: tuple[Place, ...]
    sides: dict[Side, int]
    with_sent: bool
    extras: tuple[int, int] = (0, 0)
    beyond: tuple[Beyond, ...] = ()


def side_of(sent: str | None, line: str | None, tape: str | None) -> Side | None:
    """Say where one character points when the sent code is known; None when all is right."""
    if line == sent and tape == sent:
        return None
    if line == sent:
        return Side.PUNCH
    if tape == sent:
        return Side.CONTACTS
    return Side.BEFORE if line == tape else Side.BOTH


def compare_witnesses(line: Sequence[str], tape: Sequence[str], sent: Sequence[str] | None = None) -> TwoWitnesses:
    """Compare the codes of line and tape, and with the text sent when that is known.

    Raises:
        ValueError: when a code is not made of 0 and 1, or they differ in length.
    """
    if sent is None:
        return _without_sent(line, tape)
    on_line, line_extras = _answers(sent, line)
    on_tape, tape_extras = _answers(sent, tape)
    reach = [_reach(sent, came) for came in (on_line, on_tape)]
    places = []
    for n, code in enumerate(sent):
        heard, punched = (within.start <= n < within.stop for within in reach)
        side = side_of(code, on_line[n], on_tape[n]) if heard and punched else None
        if heard != punched and (on_line if heard else on_tape)[n] != code:
            side = Side.ALONE
        if side is not None:
            places.append(Place(code, on_line[n], on_tape[n], n, side))
    beyond = (*_beyond("line", reach[0], len(sent)), *_beyond("tape", reach[1], len(sent)))
    return _witnesses(_shared(reach), places, (line_extras, tape_extras), beyond, with_sent=True)


def _without_sent(line: Sequence[str], tape: Sequence[str]) -> TwoWitnesses:
    """Compare line and tape with each other."""
    pairs = align_overlap(line, tape)
    wrong = [not pair.right for pair in pairs]
    heard, punched = ([code is None for code in text] for text in columns(pairs))
    reach = [range(head, len(pairs) - tail) for head, tail in (ends_beyond(m, wrong) for m in (heard, punched))]
    places = [
        Place(None, pairs[n].sent, pairs[n].received, n, Side.EITHER) for n in _both(reach) if not pairs[n].right
    ]
    beyond = (*_beyond("line", reach[0], len(pairs)), *_beyond("tape", reach[1], len(pairs)))
    return _witnesses(_shared(reach), places, (0, 0), beyond, with_sent=False)


def _witnesses(
    compared: int, places: list[Place], extras: tuple[int, int], beyond: tuple[Beyond, ...], *, with_sent: bool
) -> TwoWitnesses:
    return TwoWitnesses(compared, tuple(places), dict(Counter(p.side for p in places)), with_sent, extras, beyond)


def _reach(sent: Sequence[str], came: Sequence[str | None]) -> range:
    """Return the places from where a witness begins to where it ends."""
    head, tail = ends_beyond([code is None for code in came], [a != b for a, b in zip(sent, came, strict=True)])
    return range(head, len(sent) - tail)


def _both(reach: Sequence[range]) -> range:
    """Return the places within the reach of both."""
    return range(max(within.start for within in reach), min(within.stop for within in reach))


def _shared(reach: Sequence[range]) -> int:
    return len(_both(reach))


def _beyond(witness: str, reach: range, places: int) -> tuple[Beyond, ...]:
    ends = (("beginning", reach.start), ("end", places - reach.stop))
    return tuple(Beyond(witness, end, characters) for end, characters in ends if characters)


def _answers(sent: Sequence[str], received: Sequence[str]) -> tuple[list[str | None], int]:
    """Return what came for each code sent, and how many came for none."""
    came: list[str | None] = [None] * len(sent)
    extras = 0
    for pair in align_overlap(sent, received):
        if pair.sent_index is None:
            extras += 1
        else:
            came[pair.sent_index] = pair.received
    return came, extras
