r"""What the drive does to all contacts alike: a slow drift of the speed, a swing, or both; the rivals are weighed.

Picture (speed over the recording):

    warming      \__                       a smooth change; near the character rate a swing looks much like it, seen
                    \_______               once a character
    hunting     /\/\/\/\/\/\

A drift of the relative speed g(x), x the time from -1 to 1, moves an instant by -g(x) times what has elapsed since the
start. g is a polynomial of the first or second degree with no mean over the characters, so that the unit stays the
mean over the recording. Drift first and then a swing, or a swing first and then drift: what explains the instants
better is taken, each parameter paid for by the Bayesian information criterion (G. Schwarz, Ann. Stat. 6 (1978), from
memory), so that a motor that warms up is not called a governor that hunts.
"""

from dataclasses import dataclass, replace

import numpy as np

from tapewright.line.frames import Frames
from tapewright.line.groups import Groups, gather
from tapewright.line.instants import Instants
from tapewright.line.ripple import Ripple, find_ripple
from tapewright.recordings.capture import FloatArray

FEWEST_FOR_DRIFT = 60
#: Squares that a term of the drift must explain, in variances of one instant: chance alone does so once in 10,000.
CLEAR = 15.1
HIGHEST_DEGREE = 2
#: Parameters of a swing: two amplitudes and a frequency.
OF_A_SWING = 3


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """The drive's motion.

    Attributes:
        ripple: the strongest swing; None when there are too few instants.
        displacement_s: shape (instants,), how much later than at the mean speed each instant comes.
        groups: of the instants without it.
    """

    ripple: Ripple | None
    displacement_s: FloatArray
    groups: Groups


def find_motion(frames: Frames, instants: Instants, unit_s: float) -> Motion:
    """Find drift and swing of the speed, and take them out of the instants."""
    # where the framing had to follow the speed, that comes first; there is no mean in it
    still = np.asarray((frames.pace[instants.frame] - frames.pace.mean()) * unit_s * instants.boundary)
    plain = _without(instants, still, unit_s)
    drift_s = still + _drift(frames, _less(instants, still), plain)
    if (drift_s == still).all():
        return _with_swing(frames, instants, unit_s, still, plain)
    drift_first = _with_swing(frames, instants, unit_s, drift_s, _without(instants, drift_s, unit_s))
    swing_first = _with_swing(frames, instants, unit_s, still, plain)
    if (swing_first.displacement_s != still).any():
        left_s = _drift(frames, _less(instants, swing_first.displacement_s), swing_first.groups)
        both_s = swing_first.displacement_s + left_s
        swing_first = Motion(swing_first.ripple, both_s, _without(instants, both_s, unit_s))
    return min((drift_first, swing_first), key=_price)


def _with_swing(frames: Frames, instants: Instants, unit_s: float, drift_s: FloatArray, groups: Groups) -> Motion:
    left = _less(instants, drift_s)
    ripple = find_ripple(frames, left, groups)
    if ripple is None or not ripple.shown:
        return Motion(ripple, drift_s, groups)
    moved_s = drift_s + ripple.displacement_s(frames.start_s[instants.frame], left.elapsed_s)
    return Motion(ripple, moved_s, _without(instants, moved_s, unit_s))


def _less(instants: Instants, moved_s: FloatArray) -> Instants:
    return replace(instants, elapsed_s=instants.elapsed_s - moved_s)


def _without(instants: Instants, moved_s: FloatArray, unit_s: float) -> Groups:
    return gather(_less(instants, moved_s), unit_s)


def _price(motion: Motion) -> float:
    """Return the Bayesian information criterion; a drift is of two terms at most and counts the same in both rivals."""
    r = motion.groups.residual_s[np.isfinite(motion.groups.residual_s)]
    shown = motion.ripple is not None and motion.ripple.shown
    squares = max(float(r @ r), 1e-30)
    return r.size * float(np.log(squares / r.size)) + (OF_A_SWING if shown else 0) * float(np.log(r.size))


def _drift(frames: Frames, instants: Instants, groups: Groups) -> FloatArray:
    """Return what a smooth drift adds to each instant, shape (n,), s; nothing where none is clear of the scatter."""
    nothing = np.zeros_like(instants.elapsed_s)
    kept = np.isfinite(groups.residual_s)
    if np.count_nonzero(kept) < FEWEST_FOR_DRIFT or frames.start_s.size < 3:
        return nothing
    x = frames.start_s - frames.start_s[0]
    x = 2 * x / max(float(x[-1]), 1e-9) - 1
    shapes = np.stack([x, 1.5 * x**2 - 0.5], axis=1)[:, :HIGHEST_DEGREE]
    columns = (shapes - shapes.mean(axis=0))[instants.frame] * instants.elapsed_s[:, None]
    group, n = groups.group[kept], np.bincount(groups.group[kept])
    inner = columns[kept]
    means = np.stack([np.bincount(group, c) / np.maximum(n, 1) for c in inner.T], axis=1)
    inner = inner - means[group]
    r = groups.residual_s[kept]
    # the start's own error is shared by a character, so fewer instants are independent than there are
    shared = 1 + 3 * groups.start_scatter_s**2 / max(groups.scatter_s**2, 1e-30)
    best, squares = nothing, float(r @ r)
    for degree in range(1, HIGHEST_DEGREE + 1):
        found, *_ = np.linalg.lstsq(inner[:, :degree], r, rcond=None)
        rest = r - inner[:, :degree] @ found
        left = float(rest @ rest)
        variance = max(left / max(r.size - degree, 1), groups.resolution_s**2) * shared
        if squares - left > CLEAR * degree * variance:
            best, squares = columns[:, :degree] @ found, left
    return np.asarray(best, float)
