r"""What a recording holds in place of two clean levels: a tone, mains hum, or nothing that stands out.

Picture:

    keyed tone   /\/\/\/\______/\/\/\______     power in one narrow band above 300 Hz: no levels to be found
    hum          ~~~\         /~~~\             two levels, each with the same slow wave upon it
                     ~~~~~~~~~     ~~~~~~

What the mere figures of a recording say against the instrument.
"""

from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import Suspicion
from tapewright.recordings.edges.levels import Levels

#: A tone is taken for one when this share of the power lies within BAND of its frequency, above all telegraph speeds.
TONE_SHARE, BAND, LOWEST_TONE_HZ = 0.8, (0.7, 1.4), 300.0
TONE_SAMPLES = 1 << 17
#: Mains frequencies, and how large the hum, from peak to peak, is worth a word as a share of the step (owner's choice).
MAINS_HZ, WORTH_A_WORD = (50.0, 60.0), 0.1
#: the wave must explain this share of what lies about the levels, else it is something else
EXPLAINED = 0.5
MOST_SAMPLES = 1 << 18


def tone_hz(samples: npt.NDArray[Any], rate_hz: float) -> float | None:
    """Return the frequency when `samples`, shape (n,), are a tone rather than levels; None when they are none."""
    values = samples[:TONE_SAMPLES].astype(np.float64)
    if values.size < 256 or not np.isfinite(values).all():
        return None
    power = np.abs(np.fft.rfft(values - values.mean())) ** 2
    hz = np.arange(power.size) * rate_hz / values.size
    top = int(np.argmax(power))
    peak = float(hz[top])
    if peak < LOWEST_TONE_HZ:
        return None
    inside = (hz > BAND[0] * peak) & (hz < BAND[1] * peak)
    if power[inside].sum() < TONE_SHARE * power.sum():
        return None
    # the keying lies on both sides of the tone alike: the middle of the power about the peak
    about = power[max(0, top - 2) : top + 3]
    return float(about @ hz[max(0, top - 2) : top + 3] / about.sum())


def no_keyed_tone(hz: float) -> Suspicion:
    """Say that there is a tone which is not keyed on and off."""
    return Suspicion(
        "a tone in place of levels",
        f"nearly all of the signal lies about {hz:.0f} Hz, but it is never off: a shifted tone, not the line itself",
        "Record the line behind the tone's receiver, or the contacts themselves; only a tone that is keyed on and off "
        "is taken apart here.",
    )


def may_hum(levels: Levels) -> bool:
    """Return whether the samples spread enough about their levels for hum worth a word; a wave spreads by its size."""
    return levels.noise > 0.4 * WORTH_A_WORD * levels.swing


def mains_hum(samples: npt.NDArray[Any], levels: Levels, interval_s: float) -> Suspicion | None:
    """Say so when a wave at mains frequency lies on both levels of `samples`, shape (n,)."""
    if interval_s <= 0:
        return None
    rate_hz = 1 / interval_s
    step = max(1, samples.size // MOST_SAMPLES)
    values = samples[::step].astype(np.float64)
    middle = levels.low + levels.swing / 2
    rest = values - np.where(values > middle, levels.high, levels.low)
    kept = np.isfinite(rest) & (np.abs(rest) < levels.swing / 3)
    if np.count_nonzero(kept) < 256 or rate_hz / step < 4 * max(MAINS_HZ):
        return None
    time, rest = np.flatnonzero(kept) * step / rate_hz, rest[kept] - rest[kept].mean()
    total = float(rest @ rest)
    for hz in MAINS_HZ:
        wave = np.exp(2j * np.pi * hz * time)
        size = 2 * abs(complex(wave @ rest)) / rest.size
        if 2 * size > WORTH_A_WORD * levels.swing and rest.size * size**2 / 2 > EXPLAINED * total:
            return Suspicion(
                "mains hum",
                f"a wave of {hz:.0f} Hz lies on the signal, {200 * size / levels.swing:.0f} % of the step from peak "
                "to peak; on slow edges it moves the instants, at some speeds by the same amount every time",
                "Find the earth loop or shield the lead, and record again before small displacements are believed.",
            )
    return None


def no_two_levels(levels: Levels) -> Suspicion | None:
    """Say so when the samples move, yet no two levels stand out of what lies about them."""
    if levels.two or levels.noise <= 0 or not levels.swing > 0:
        return None
    return Suspicion(
        "no two levels",
        f"the samples lie about {levels.low:.3g} and {levels.high:.3g}, but spread by {levels.noise:.2g} about each: "
        "noise, hum, or no telegraph signal at all",
        "Look at the recording; take away noise and hum, or say the levels with --threshold LOW,HIGH.",
    )


#: 0.1 ms is half a per cent of a 20 ms unit, the floor for any judgement of timing; common practice, no source
COARSE_S = 0.0001


def too_few_samples(interval_s: float, edges: int) -> tuple[Suspicion, ...]:
    """Say when samples lie so far apart that single instants are doubtful."""
    if not edges or interval_s <= COARSE_S * 1.000001:
        return ()
    evidence = (
        f"one every {interval_s * 1e3:.3g} ms: an edge between two of them is known to "
        f"{interval_s * 1e3 / 12**0.5:.2g} ms (standard uncertainty)"
    )
    do = "Record at 50 000 samples a second or more; until then trust means over many characters only."
    return (Suspicion("too low a sample rate", evidence, do),)
