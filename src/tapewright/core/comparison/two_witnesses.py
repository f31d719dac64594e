"""The line and the tape of one event beside each other: on which side of the interface a fault lies.

    keys > code bars >--+--> contacts > line           line right, tape wrong: the punch side
                        |                              line wrong, tape right: the contact side
                        +--> interposers > pins > tape both wrong alike: before the parting, keys or code bars

Wrong on one output only points behind the parting; wrong alike on both points before it (common practice, no source).
Without the text that was sent, a difference says only that one of the two sides is at fault, not which.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from tapewright.core.comparison.alignment import align


class Side(Enum):
    """Where a difference points."""

    PUNCH = "punch side"
    CONTACTS = "contact side"
    BEFORE = "before the parting"
    BOTH = "both sides, or before the parting"
    EITHER = "one of the two sides"


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
class TwoWitnesses:
    """What line and tape prove together.

    Attributes:
        compared: characters compared.
        places: where something is not as it should be.
        sides: how many point to each side.
        with_sent: whether the sent text was known.
        extras: codes on line or tape that answer no sent character: (line, tape).
    """

    compared: int
    places: tuple[Place, ...]
    sides: dict[Side, int]
    with_sent: bool
    extras: tuple[int, int] = (0, 0)


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
        pairs = align(line, tape).pairs
        places = [Place(None, p.sent, p.received, n, Side.EITHER) for n, p in enumerate(pairs) if not p.right]
        return TwoWitnesses(len(pairs), tuple(places), dict(Counter(p.side for p in places)), with_sent=False)
    on_line, line_extras = _answers(sent, line)
    on_tape, tape_extras = _answers(sent, tape)
    places = []
    for n, code in enumerate(sent):
        side = side_of(code, on_line[n], on_tape[n])
        if side is not None:
            places.append(Place(code, on_line[n], on_tape[n], n, side))
    counted = dict(Counter(p.side for p in places))
    return TwoWitnesses(len(sent), tuple(places), counted, with_sent=True, extras=(line_extras, tape_extras))


def _answers(sent: Sequence[str], received: Sequence[str]) -> tuple[list[str | None], int]:
    """Give what came for each code sent, and how many came for none."""
    came: list[str | None] = [None] * len(sent)
    extras = 0
    for pair in align(sent, received).pairs:
        if pair.sent_index is None:
            extras += 1
        else:
            came[pair.sent_index] = pair.received
    return came, extras
