r"""Play: what a reversal of a screw loses before the part follows.

Picture (position of the part against the screw; p = free play):

    part |            ___/        the part follows, p/2 behind, in either direction;
         |         __/            after a reversal it stands still for p
         |     p  /
         |   /<-->
         +------------- screw

The play operator of hysteresis theory (Krasnosel'skii and Pokrovskii 1983; from memory).
"""

import numpy as np

from tapewright.core.mechanism.trim.interval_fit import FloatArray


def follow(part: FloatArray, screw: FloatArray, play: FloatArray) -> FloatArray:
    """Give where the part stands after the screw went to `screw` and the part stood at `part`; all shapes broadcast."""
    return np.clip(part, screw - play / 2, screw + play / 2)


def follow_all(screws: FloatArray, play: FloatArray) -> FloatArray:
    """Give the part at each trial, shape (T, K), for screws (T, K), play (K,); it begins amid its play."""
    parts = np.empty_like(screws)
    here = screws[0]
    for n, screw in enumerate(screws):
        here = parts[n] = follow(here, screw, play)
    return parts
