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

from tapewright.core.magnet.coil_recording import Closing, Prepared
from tapewright.core.magnet.kinks import SURE, WINDOWS, slope_jumps
from tapewright.core.measurement import Reading, missing

#: below this share of the current nothing is looked for
DEAD_SHARE = 0.03
LEAST_SAMPLES = 12


def read_release(prepared: Prepared, closing: Closing) -> Reading:
    """Give the time from the opening of the switch to the armature's arrival at its stop."""
    piece = prepared.current_a[closing.off : closing.end + 1]
    floor = max(DEAD_SHARE * prepared.level_a, 3 * prepared.noise_a)
    alive = np.flatnonzero(piece > floor)
    if not alive.size or closing.end - closing.off < LEAST_SAMPLES:
        return missing("ms", "the recording ends with the switch closed")
    piece = piece[: int(alive[-1]) + 1]
    if piece.size < LEAST_SAMPLES:
        return missing("ms", "the current is gone too soon after the opening to show the armature fall back")
    best = (0.0, 0, 0)
    noise = max(prepared.noise_a, 2e-5 * prepared.level_a) * prepared.noise_scale
    for window in WINDOWS:
        jumps = -slope_jumps(piece, noise, window)
        # the opening itself is a downward jump too
        jumps[: 2 * window + 4] = 0.0
        at = int(jumps.argmax())
        if jumps[at] > best[0]:
            best = (float(jumps[at]), at, window)
    strength, at, window = best
    if strength < SURE:
        return missing("ms", "no hump of a falling armature stands out of the noise")
    # the opening lies up to three samples after closing.off; the jump is placed to a share of its window
    u_samples = float(np.hypot(1.0, window / strength))
    value = (at - 1.5) / prepared.rate_hz * 1e3
    return Reading(value, u_samples / prepared.rate_hz * 1e3, "ms", 1, "hump in the dying current")
