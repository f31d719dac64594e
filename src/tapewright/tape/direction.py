"""Which end is the beginning and which face is up: four poses, told apart by what can tell them apart.

    as is      beginning left,  two-hole side above      turned     beginning right, two-hole side below
    mirrored   beginning left,  two-hole side below      both       beginning right, two-hole side above

The side with three tracks fixes the order of the elements in every code. What is left is one question: which
end is the beginning. It is answered by the text (plausible.py), by the expected text if there is one, and by
advanced feed holes, which lie towards the beginning. Nothing else settles it: if these do not, both readings
are given, and the tape is taken as lying face up.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.alphabets import Alphabet
from tapewright.alphabets.plausible import SURE_NATS, evidence_for_forward, looks_like_text
from tapewright.message import align
from tapewright.reference.five_unit_tape import ADVANCED_MM, GRID_MM

#: Evidence from an advanced feed hole, nats: it is made so on purpose, or one set wrong looks the same.
ADVANCED_TOLD, ADVANCED_SEEN = 12.0, 7.0
EXPECTED_NATS = 30.0


@dataclass(frozen=True, slots=True)
class Direction:
    """Which way a strip is read.

    Attributes:
        forward: True when the reading goes along the strip as found.
        sure: whether the evidence is enough.
        nats: the evidence for forward, natural logarithm of the odds.
        because: what it rests on, in words.
    """

    forward: bool
    sure: bool
    nats: float
    because: str


def find_direction(
    codes: Sequence[str], alphabet: Alphabet, *, advance: float, feed_line: str, expected: Sequence[str] | None,
    face_up_forward: bool,
) -> Direction:  # fmt: skip
    """Weigh the evidence.

    Args:
        codes: the rows as found, element order already right.
        alphabet: how they are to be read.
        advance: code row beyond the feed hole, in grid steps along the strip as found.
        feed_line: "in-line", "advanced" or "auto".
        expected: codes the tape should carry, None when not known.
        face_up_forward: whether reading along the strip as found means that the tape lies face up.
    """
    evidence = []
    text = evidence_for_forward(codes, alphabet)
    if looks_like_text(codes, alphabet, text):
        evidence.append((text, "the text"))
    if expected:
        evidence.append((_expected_nats(codes, expected), "the expected text"))
    shift = _advanced_nats(advance, feed_line)
    if shift:
        evidence.append((shift, "the advanced feed holes"))
    total = sum(nats for nats, _ in evidence)
    reasons = " and ".join(reason for nats, reason in evidence if nats * total > 0) or "nothing"
    sure = abs(total) >= SURE_NATS
    forward = total > 0 if sure or abs(total) > 2.0 else face_up_forward
    return Direction(forward, sure, total, reasons if sure else "not enough to tell; taken as face up")


def _advanced_nats(advance: float, feed_line: str) -> float:
    told = feed_line == "advanced"
    nominal = ADVANCED_MM / GRID_MM
    if feed_line == "in-line" or not (0.05 if told else 0.7 * nominal) < abs(advance) < 1.6 * nominal:
        return 0.0
    nats = ADVANCED_TOLD if told else ADVANCED_SEEN
    return nats if advance > 0 else -nats


def _expected_nats(codes: Sequence[str], expected: Sequence[str]) -> float:
    forward = align(list(expected), list(codes)).cost
    backward = align(list(expected), list(codes[::-1])).cost
    margin = (backward - forward) / max(backward + forward, 1)
    return EXPECTED_NATS * margin if abs(margin) > 0.2 else 0.0
