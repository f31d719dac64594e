"""Speed: character by character, how long the stop is, whether it drifts.

Within one character the residuals of its instants (what is left when each contact's mean is taken out) are
r = start error + k s + scatter; s by generalised least squares is that character's unit less the mean unit.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import Frames
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.recordings.capture import FloatArray

#: Pauses between characters up to this much longer than the shortest belong to a full-speed stream.
STREAM_SPREAD_UNITS, LONGEST_STREAM_STOP_UNITS, FEWEST_PAUSES = 0.35, 3.5, 4
FEWEST_FOR_DRIFT = 12


@dataclass(frozen=True, slots=True, eq=False)
class CharacterSpeeds:
    """Unit and stop of each character.

    Attributes:
        unit_s: shape (n,), unit of each character; NaN with fewer than two instants.
        unit_u_s: shape (n,), its standard uncertainty.
        stop_units: shape (n,), pause after it until the next start, units; NaN where there is no next.
    """

    unit_s: FloatArray
    unit_u_s: FloatArray
    stop_units: FloatArray


@dataclass(frozen=True, slots=True)
class Stream:
    """Characters that follow each other at full speed.

    Attributes:
        character_s: mean period, with `character_u_s`.
        n: number of periods averaged.
    """

    character_s: float
    character_u_s: float
    n: int


def character_speeds(
    frames: Frames, instants: Instants, groups: Groups, unit_s: float, swing_s: FloatArray
) -> CharacterSpeeds:
    """Return unit and stop of each character.

    Args:
        frames: the characters.
        instants: their instants.
        groups: their means, with any ripple taken out.
        unit_s: the mean unit.
        swing_s: shape (instants,), the ripple that was taken out; it belongs to a character's own speed.
    """
    n, elements = frames.elements.shape
    kept = np.isfinite(groups.residual_s)
    frame, k = instants.frame[kept], instants.boundary[kept].astype(float)
    r = groups.residual_s[kept] + swing_s[kept]

    def total(values: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(frame, values, minlength=n), float)

    start2 = groups.start_scatter_s**2
    own2 = max(groups.scatter_s**2 - start2, 0.1 * groups.scatter_s**2, groups.resolution_s**2, 1e-18)
    ridge = own2 / start2 if start2 > 0 else 1e12
    count, sum_k, sum_kk = total(np.ones_like(r)) + ridge, total(k), total(k * k)
    determinant = count * sum_kk - sum_k**2
    enough = np.bincount(frame, minlength=n) >= 2
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (count * total(k * r) - sum_k * total(r)) / determinant
        u = np.sqrt(own2 * count / determinant)
    mean_unit = groups.unit_s
    stop = np.full(n, np.nan)
    if n > 1:
        stop[:-1] = np.diff(frames.start_s) / unit_s - (elements + 1)
    return CharacterSpeeds(np.where(enough, mean_unit + slope, np.nan), np.where(enough, u, np.nan), stop)


def find_stream(frames: Frames, stop_units: FloatArray, unit_s: float, resolution_s: float) -> Stream | None:
    """Find the characters sent at full speed and their mean period; None when all were keyed by hand."""
    elements = frames.elements.shape[1]
    pauses = stop_units[np.isfinite(stop_units)]
    if pauses.size < FEWEST_PAUSES:
        return None
    shortest = float(np.percentile(pauses, 10))
    close = pauses[np.abs(pauses - shortest) < STREAM_SPREAD_UNITS]
    if close.size < max(FEWEST_PAUSES, 0.2 * pauses.size) or shortest > LONGEST_STREAM_STOP_UNITS:
        return None
    middle = float(np.median(close))
    spread = max(1.4826 * float(np.median(np.abs(close - middle))), 1e-6)
    close = close[np.abs(close - middle) <= 5 * spread + 1e-6]
    period = (close + elements + 1) * unit_s
    # in an unbroken run only its two ends are uncertain by what the instrument resolves
    u = np.hypot(period.std(ddof=1) / np.sqrt(close.size), np.sqrt(2) * resolution_s / close.size)
    return Stream(float(period.mean()), float(u), int(close.size))


def drift(frames: Frames, speeds: CharacterSpeeds, unit_s: float) -> tuple[float, float] | None:
    """Return the change of the speed from begin to end, relative (positive = faster), and its u; None if too few."""
    good = np.isfinite(speeds.unit_s) & (speeds.unit_u_s > 0)
    if good.sum() < FEWEST_FOR_DRIFT:
        return None
    t, y, w = frames.start_s[good], speeds.unit_s[good] / unit_s, 1 / speeds.unit_u_s[good] ** 2
    t = (t - t[0]) / max(float(t[-1] - t[0]), 1e-9)
    w = w / w.sum()
    centred = t - w @ t
    moment = float(w @ centred**2)
    slope = float(w @ (centred * y)) / moment
    rest = y - w @ y - slope * centred
    u = np.sqrt(float(w**2 @ (centred * rest) ** 2)) / moment * np.sqrt(t.size / (t.size - 2))
    least = float(np.sqrt(1 / (1 / speeds.unit_u_s[good] ** 2).sum() / moment)) / unit_s
    return -slope, max(float(u), least)
