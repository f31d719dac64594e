r"""One closing of the switch, looked at alone: did the armature move, and about when did it land?

    the samples  ->  fit without a landing  ->  fits with a landing, as its own start or as another closing's
                 ->  the slope's upward jumps (kinks.py)
    moved        a sure kink where the fit lands, and the fit with a landing is far better
    not moved    no kink, the fit without fits, and the data would have shown a change of a tenth in L
    cannot tell  anything else

When exactly it landed is found from all closings together (landings.py). That a moving armature changes the inductance
by a tenth at least is common practice, no source.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.coil.closing_read import ClosingRead, unknown
from tapewright.coil.coil_recording import Closing, FloatArray, Prepared
from tapewright.coil.kinks import POSSIBLE, SURE, Kink, strongest
from tapewright.coil.landing_fit import LANDING, T1, T2, TRAVEL, Fit, fit_moved, fit_second_order, fit_stuck
from tapewright.coil.release import RINGS
from tapewright.coil.still import not_moved
from tapewright.coil.window import Window, guess_of, window_of

BETTER_BY = 40.0
#: among a thousand samples noise makes a possible jump now and then; a landing then fits better by less than this
BY_CHANCE = 25.0
#: another closing's fit is start enough when it ends this near to what noise allows
GOOD_ENOUGH = 1.25
RIVALS = "a landing, or a coil that stands still beside a capacitor or in thick iron: both explain the rise"
#: L must grow by this share at least, and by so many times its doubt, for a landing (common practice, no source)
LEAST_GROWTH, GROWTH_SIGMAS = 0.03, 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Analysed:
    """One closing looked at alone.

    Attributes:
        window: the samples used.
        fit: the fit with a landing; None when nothing landed for sure.
        read: what it says when nothing landed for sure.
    """

    window: Window
    fit: Fit | None = None
    read: ClosingRead | None = None


def look_at(prepared: Prepared, closing: Closing, like: Fit | None = None) -> Analysed:
    """Look at one closing; `like` is the fit of another of the same coil."""
    window = window_of(prepared, closing)
    start = guess_of(window)
    if start is None:
        return Analysed(window, read=unknown(window.begin_s, "the rise is too short for this sample rate"))
    stuck = fit_stuck(window.times_s, window.current_a, window.noise_a, start)
    kink = strongest(window.current_a, window.white_a * prepared.noise_scale, window.skip, window.coarse_a)
    scale = prepared.noise_scale**2
    quiet = kink is None or kink.strength < POSSIBLE
    if kink is not None and not quiet:
        moved = _best_moved(window, stuck, start, kink, like, scale)
        if _landed(window, stuck, moved, kink, scale):
            still = fit_second_order(window.times_s, window.current_a, window.noise_a, stuck)
            if _better(window, still, moved, scale) > BY_CHANCE:
                return Analysed(window, fit=moved)
            return Analysed(window, read=unknown(window.begin_s + stuck.values[0], RIVALS))
        quiet = kink.strength < SURE and _better(window, stuck, moved, scale) < BY_CHANCE
    rings = bool(prepared.current_a[closing.off : closing.end + 1].min() < -RINGS * prepared.level_a)
    return Analysed(window, read=not_moved(window, stuck, quiet, scale, rings=rings))


def _best_moved(window: Window, stuck: Fit, base: FloatArray, kink: Kink, like: Fit | None, scale: float) -> Fit:
    landing = window.times_s[kink.index] - base[0]
    if like is not None:
        start = like.values.copy()
        start[TRAVEL] *= landing / start[LANDING]
        start[0], start[LANDING] = base[0], landing
        fit = fit_moved(window.times_s, window.current_a, window.noise_a, start)
        if fit.reduced < GOOD_ENOUGH * max(scale, like.reduced):
            return fit
    starts = [
        np.array([base[0], stuck.values[1], t1, t2, landing, share * landing, power])
        for t1, t2 in ((base[2], 1.4 * base[2]), (0.8 * stuck.values[2], 1.2 * stuck.values[2]))
        for share, power in ((0.3, 3.0), (0.7, 6.0))
    ]
    fits = [fit_moved(window.times_s, window.current_a, window.noise_a, start) for start in starts]
    return min(fits, key=lambda fit: fit.chi2)


def _landed(window: Window, stuck: Fit, moved: Fit, kink: Kink, scale: float) -> bool:
    t1, t2, landing = moved.values[2], moved.values[3], moved.values[LANDING]
    at = kink.index * window.step_s - moved.values[0]
    near = abs(at - landing) < max(kink.window * window.step_s, 0.25 * landing)
    better = _better(window, stuck, moved, scale) > BETTER_BY
    # movement is a change of inductance that stillness cannot give
    growth, grow = t2 / t1 - 1, np.sqrt(scale * window.alike * max(1.0, moved.reduced / scale))
    u = float(grow * np.hypot(moved.u(T1) / t1, moved.u(T2) / t2))
    grown = growth > max(LEAST_GROWTH, GROWTH_SIGMAS * u)
    return bool(kink.strength > SURE and better and near and grown)


def _better(window: Window, stuck: Fit, moved: Fit, scale: float) -> float:
    """Return by how much a landing explains more of what the converter's steps do not."""
    without, with_ = (fit.beyond(window.white_a, window.coarse_a) for fit in (stuck, moved))
    return (without - with_) / scale
