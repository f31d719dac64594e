"""The message in what came: without the lead-in and run-out that nobody counts as part of the text."""

from collections.abc import Sequence

#: What leaders on tape are made of: blank, and all holes (LTRS).
IDLE = ("00000", "11111")
#: What an operator keys before and after a text, besides: carriage return, line feed.
KEYED = (*IDLE, "00010", "01000")


def message(codes: Sequence[str], expected: Sequence[str]) -> list[str]:
    """Give the codes without the leader and trailer of blanks and LTRS that the expected text does not have."""
    return _without(codes, expected, IDLE, 0)


def keyed_message(codes: Sequence[str], expected: Sequence[str]) -> list[str]:
    """Give the codes without LTRS, blanks, CR and LF keyed before and after the expected text.

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
