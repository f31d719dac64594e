r"""When the armature fell back, from the hump in the dying current.

Picture (only with a suppressor that lets the current die slowly enough; a zener has it gone before anything moves):

    current |-.
            |  .    hump: L falls as the gap opens, and drives the current on
            |   .  .-.
            |    ..   |<- the armature stops at its stop: the slope jumps down
            |          .
            +------------ .___
           opens

A dying current bends upwards everywhere, so a downward jump of the slope is the mark.
"""

import numpy as np

from tapewright.coil.coil_recording import Closing, FloatArray, Prepared
from tapewright.coil.kinks import SURE, WINDOWS, slope_jumps
from tapewright.number import Reading, missing

#: below this share of the current nothing is looked for
DEAD_SHARE = 0.03
LEAST_SAMPLES = 12
#: so far below rest, as a share of the current, it rings
RINGS = 0.05
#: samples before the opening that are looked at for it, and on each side of it
LEAD, OPENING = 60, 13
#: the motion before the arrival is no curve of second order: what that leaves, as a share of the window (found by
#: simulation, tests/core/magnet/test_events.py holds it to account)
SHAPE = 1 / 6


def read_release(prepared: Prepared, closing: Closing) -> Reading:
    """Return the time from the opening of the switch to the armature's arrival at its stop."""
    piece = prepared.current_a[closing.off : closing.end + 1]
    floor = max(DEAD_SHARE * prepared.level_a, 3 * prepared.noise_a)
    alive = np.flatnonzero(piece > floor)
    if not alive.size or closing.end - closing.off < LEAST_SAMPLES:
        return missing("ms", "the recording ends with the switch closed")
    if float(piece.min()) < -max(RINGS, 8 * prepared.noise_a / max(prepared.level_a, 1e-30)) * prepared.level_a:
        return missing("ms", "the dying current rings with a capacitor: no way back can be told from it")
    piece = piece[: int(alive[-1]) + 1]
    if piece.size < LEAST_SAMPLES:
        return missing("ms", "the current is gone too soon after the opening to show the armature fall back")
    best = (0.0, 0, 0)
    noise = max(prepared.noise_a, 2e-5 * prepared.level_a) * prepared.noise_scale
    white = max(prepared.white_a, 2e-5 * prepared.level_a) * prepared.noise_scale
    for window in WINDOWS:
        jumps = -slope_jumps(piece, white, window, prepared.coarse_a)
        # the opening itself is a downward jump too
        jumps[: 2 * window + 4] = 0.0
        at = int(jumps.argmax())
        if jumps[at] > best[0]:
            best = (float(jumps[at]), at, window)
    strength, at, window = best
    if strength < SURE:
        return missing("ms", "no hump of a falling armature stands out of the noise")
    place, u_place = _break(piece, at, window, noise)
    lead = min(LEAD, closing.off)
    about = prepared.current_a[closing.off - lead : closing.end + 1]
    opening, u_opening = _break(about, lead, OPENING, noise, before=0)
    value, u_samples = place - (opening - lead), float(np.sqrt(u_place**2 + u_opening**2 + (SHAPE * window) ** 2))
    ms = 1e3 / prepared.rate_hz
    return Reading(value * ms, u_samples * ms, "ms", 1, "hump in the dying current")


def _break(piece: FloatArray, at: int, window: int, noise: float, *, before: int = 2) -> tuple[float, float]:
    """Return where two smooth curves meet with another slope, and its standard uncertainty, in samples.

    Each place near `at` is tried: a curve of order `before`, from that place on with another slope and bend. Places are
    weighted by how well they explain the samples (Gaussian noise), so that an unclear one has a wide doubt.
    """
    begin, end = max(0, at - 3 * window), min(piece.size, at + 3 * window + 1)
    x, y = np.arange(begin, end, dtype=float), piece[begin:end]
    places = np.arange(max(begin + 2, at - 2 * window), min(end - 3, at + 2 * window), 0.25)
    left = np.empty(places.size)
    for n, place in enumerate(places):
        after = np.maximum(0.0, x - place)
        basis = np.stack([*((x - at) ** order for order in range(before + 1)), after, after**2], axis=1)
        solved, *_ = np.linalg.lstsq(basis, y, rcond=None)
        left[n] = np.sum((y - basis @ solved) ** 2)
    # what the curves cannot follow counts as noise too
    spread = max(noise**2, left.min() / max(1, x.size - 6))
    weights = np.exp(-(left - left.min()) / (2 * spread))
    weights /= weights.sum()
    mean = float(weights @ places)
    return mean, float(np.sqrt(weights @ (places - mean) ** 2))
