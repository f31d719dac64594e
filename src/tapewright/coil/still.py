"""A closing at which nothing landed: whether the armature stood still, or it cannot be told."""

import numpy as np

from tapewright.coil.closing_read import ClosingRead, unknown
from tapewright.coil.landing_fit import Fit, fit_second_order
from tapewright.coil.window import Window
from tapewright.number import Reading, missing

#: a moving armature changes L by at least this share
LEAST_CHANGE = 0.1
MOST_REDUCED = 1.6


def not_moved(window: Window, stuck: Fit, quiet: bool, scale: float, *, rings: bool) -> ClosingRead:
    """Return whether one inductance fits the whole rise; `quiet`: no landing stands out of the noise.

    Args:
        window: the samples.
        stuck: the fit of one inductance.
        quiet: nothing like a landing stands out of the noise.
        scale: by how much slow noise is worse than white, squared.
        rings: a capacitor is seen to ring with the coil on opening.
    """
    reduced = stuck.beyond(window.white_a, window.coarse_a) / max(stuck.n - stuck.values.size, 1)
    grow = float(np.sqrt(scale * window.alike * max(1.0, reduced / scale)))
    level = Reading(stuck.values[1], grow * stuck.u(1), "A", stuck.n)
    tau = Reading(stuck.values[2], grow * stuck.u(2), "s", stuck.n)
    none = missing("ms", "the armature did not move")
    change, u = _change_of_tau(window, stuck, grow)
    if quiet and reduced < MOST_REDUCED * scale and abs(change) + 2 * u < LEAST_CHANGE:
        why = f"one inductance fits the whole rise (change {change * 100:+z.1f} ± {2 * u * 100:.1f} %), no dip"
        return ClosingRead(window.begin_s + stuck.values[0], False, why, level, tau, tau, none, none, none)
    if quiet and rings:
        still = fit_second_order(window.times_s, window.current_a, window.noise_a, stuck)
        if still.beyond(window.white_a, window.coarse_a) / max(still.n - still.values.size, 1) < MOST_REDUCED * scale:
            level = Reading(still.values[1], grow * still.u(1), "A", still.n)
            why = "a coil that stands still beside a capacitor fits the whole rise, no dip"
            beside = missing("s", "the capacitor beside the coil hides it")
            return ClosingRead(window.begin_s + still.values[0], False, why, level, beside, beside, none, none, none)
    if not quiet:
        why = "something like a dip, but not clear of the noise"
    elif reduced >= MOST_REDUCED * scale:
        why = "the rise is not that of one inductance, and shows no landing either"
    else:
        why = f"noise or sampling hides a change of L (up to {(abs(change) + 2 * u) * 100:.0f} %)"
    return unknown(window.begin_s + stuck.values[0], why, level)


def _change_of_tau(window: Window, stuck: Fit, grow: float) -> tuple[float, float]:
    """Compare L / R of the early and the late part of the rise: relative change and its standard uncertainty.

    Each part's current is scaled by one factor of L in the fit's own curve: its slope against log T is known.
    """
    t0, level, tau = stuck.values
    times = window.times_s - t0
    x = np.clip(times / tau, 0, None)
    sensitivity = -level * x * np.exp(-x)
    residual = window.current_a - level * -np.expm1(-x)
    late = x > 1.0
    shifts, weights = [], []
    for part in (late, ~late & (x > 0)):
        weight = float((sensitivity[part] ** 2).sum())
        shifts.append(float((sensitivity[part] * residual[part]).sum() / weight) if weight > 0 else 0.0)
        weights.append(weight)
    if min(weights) <= 0:
        return 0.0, 1.0
    u = grow * window.noise_a * float(np.sqrt(1 / weights[0] + 1 / weights[1]))
    return shifts[0] - shifts[1], u
