r"""Two texts of which each may begin and end somewhere else: which stretch they share, and what lies beyond it.

    line          F O X   J U M P S   O V E R
    tape    B R O W N   F O X   J U M P S
            '---------' beyond           '---' beyond

A recording that was begun late, or a tape torn off, is no fault of a part: what only one of them has at its ends is
set apart, and only the stretch both have is compared. One or two codes at an end stay in: a first or last code is
lost by machines too.
"""

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from scipy.signal import fftconvolve

from tapewright.message.alignment import Pair, align

#: A run of so many codes at an end that the other text does not have lies beyond it (owner's choice).
FEWEST_BEYOND = 3
#: More than this share wrong, the overlap is looked for; it counts when it holds so many codes, and its matches stand
#: this many standard deviations above chance.
TOO_MANY_WRONG, FEWEST_SHARED, CLEAR = 1 / 3, 8, 8.0


def align_overlap(sent: Sequence[str], received: Sequence[str]) -> tuple[Pair, ...]:
    """Align two texts that may overlap in part only; what lies beyond stands at the ends, as losses or extras.

    Raises:
        ValueError: when a code is not made of 0 and 1, or the lengths differ.
    """
    plain = align(sent, received).pairs
    if _wrong_share(plain) <= TOO_MANY_WRONG:
        return plain
    shift = find_shift(sent, received)
    if shift is None:
        return plain
    begin_sent, begin_received = max(0, shift), max(0, -shift)
    shared = align(sent[begin_sent:], received[begin_received:]).pairs
    ahead = [Pair(sent[n], None, n, None) for n in range(begin_sent)]
    ahead += [Pair(None, received[n], None, n) for n in range(begin_received)]
    whole = (*ahead, *(_moved(pair, begin_sent, begin_received) for pair in shared))
    return whole if _wrong_share(whole) < _wrong_share(plain) else plain


def ends_beyond(missing: Sequence[bool], wrong: Sequence[bool]) -> tuple[int, int]:
    """Return how many places at the beginning and at the end lie beyond one text.

    A code that is wrong where a text begins or ends was cut in two, and belongs to what lies beyond.

    Args:
        missing: for each place whether that text has nothing there.
        wrong: whether what it has there is not right.
    """
    if all(missing):
        return 0, 0
    return _run(missing, wrong), _run(missing[::-1], wrong[::-1])


def find_shift(sent: Sequence[str], received: Sequence[str]) -> int | None:
    """Return by how many codes the received text begins after the sent one; None when no stretch is clearly shared.

    For every shift the codes that match are counted, all shifts at once by a convolution for each code, and held
    against the number chance would give (binomial: n p, variance n p (1 - p), p the chance of two codes being alike).
    """
    a, b = (np.array([int(code, 2) for code in text]) for text in (sent, received))
    if min(a.size, b.size) < FEWEST_SHARED:
        return None
    matches = np.zeros(a.size + b.size - 1)
    chance = 0.0
    for code in np.intersect1d(a, b):
        at, there = (a == code).astype(float), (b == code).astype(float)
        matches += fftconvolve(at, there[::-1])
        chance += float(at.mean() * there.mean())
    shifts = np.arange(matches.size) - (b.size - 1)
    shared = _shared(shifts, a.size, b.size)
    sigma = np.sqrt(np.maximum(shared * chance * (1 - chance), 1e-9))
    clear = np.where(shared >= FEWEST_SHARED, (np.rint(matches) - shared * chance) / sigma, 0.0)
    best = int(np.argmax(clear))
    return int(shifts[best]) if clear[best] > CLEAR else None


def _shared(shifts: npt.NDArray[np.int_], sent: int, received: int) -> npt.NDArray[np.int_]:
    return np.minimum(sent, shifts + received) - np.maximum(0, shifts)


def _run(missing: Sequence[bool], wrong: Sequence[bool]) -> int:
    run = next(n for n, nothing in enumerate(missing) if not nothing)
    if run < FEWEST_BEYOND:
        return 0
    return run + int(wrong[run] and run + 1 < len(missing))


def _wrong_share(pairs: Sequence[Pair]) -> float:
    """Return the share of wrong codes in what lies between the ends."""
    ends = [ends_beyond([nothing is None for nothing in text], [False] * len(pairs)) for text in columns(pairs)]
    head, tail = max(end[0] for end in ends), max(end[1] for end in ends)
    between = pairs[head : len(pairs) - tail]
    return sum(not pair.right for pair in between) / max(1, len(between))


def columns(pairs: Sequence[Pair]) -> tuple[list[str | None], list[str | None]]:
    """Return both texts as they stand in the columns, None for nothing."""
    return [pair.sent for pair in pairs], [pair.received for pair in pairs]


def _moved(pair: Pair, sent: int, received: int) -> Pair:
    return Pair(
        pair.sent,
        pair.received,
        None if pair.sent_index is None else pair.sent_index + sent,
        None if pair.received_index is None else pair.received_index + received,
    )
