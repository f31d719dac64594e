r"""A line as sound: baseband, or a tone that is on in mark and off in space.

Picture (the tone's envelope is half way at the instant, whatever way it goes):

    line       ________|~~~~~~~~~~~~~|__________
    baseband   --------+~~~~~~~~~~~~~+----------    +/- 45 % of full scale
    tone       ________/~\/\/\/\/\/\~\__________    raised cosine, one period of the tone long
                       ^ half here

The envelope is e(t) = (1 + sin(pi x)) / 2 for x = (t - instant) / period within +/- 1/2; a pulse shorter than that
never reaches the whole.
"""

from collections.abc import Iterator

import numpy as np

from tapewright.practice.instrument import Instrument, record_in_pieces
from tapewright.practice.line_signal import FloatArray, LineSignal

LEVEL, TONE_LEVEL = 0.45, 0.8
PIECE = 1 << 14
#: fewer periods than this in a unit and the tone's own phase shows in the instants
FEWEST_PERIODS = 8


def sound_pieces(
    line: LineSignal, rate_hz: float, tone_hz: float | None, *, turned: bool = False
) -> Iterator[FloatArray]:
    """Return the sound piece by piece, values of -1 to 1.

    Args:
        line: what to send.
        rate_hz: samples a second.
        tone_hz: frequency of the keyed tone; None for baseband.
        turned: mark low instead of high, or the tone on in space.
    """
    if tone_hz is None:
        instrument = Instrument(
            rate_hz, mark_v=LEVEL, space_v=-LEVEL, threshold_v=0.0, inverted=turned, anti_alias=True, bits=16,
            full_scale_v=1.0,
        )  # fmt: skip
        # no chance enters: neither noise nor hum is on
        yield from record_in_pieces(line, instrument, np.random.default_rng(0), PIECE)
        return
    count = int((line.end_s - line.begin_s) * rate_hz)
    for first in range(0, count, PIECE):
        t = np.arange(first, min(first + PIECE, count)) / rate_hz
        on = _envelope(line, t + line.begin_s, 1 / tone_hz)
        yield TONE_LEVEL * (1 - on if turned else on) * np.sin(2 * np.pi * tone_hz * t)


def _envelope(line: LineSignal, t: FloatArray, period_s: float) -> FloatArray:
    """Return how far the tone is on at times t, shape (n,), increasing."""
    before = np.searchsorted(line.times_s, t, side="right")
    states = np.append(line.starts_mark, line.mark_after).astype(float)
    level = states[before]
    first, last = np.searchsorted(line.times_s, [t[0] - period_s, t[-1] + period_s])
    for at, mark in zip(line.times_s[first:last], line.mark_after[first:last], strict=True):
        a, b = np.searchsorted(t, [at - period_s / 2, at + period_s / 2])
        x = (t[a:b] - at) / period_s
        step = 0.5 + np.sin(np.pi * x) / 2 - (x >= 0)
        level[a:b] += step if mark else -step
    return np.asarray(np.clip(level, 0.0, 1.0))
