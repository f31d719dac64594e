r"""One closing of the switch, read: did the armature move, when did it land, how, and with what inductance.

    the samples  ->  fit without a landing  ->  fits with a landing from several starts, with and without a hop
                 ->  the slope's upward jumps (kinks.py)
    moved        a sure kink where the fit lands, and the fit with a landing is far better
    not moved    no kink, the fit without fits, and the data would have shown a change of a tenth in L
    cannot tell  anything else

That a moving armature changes the inductance by a tenth at least is common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tapewright.core.magnet.coil_recording import Closing, FloatArray, Prepared
from tapewright.core.magnet.kinks import POSSIBLE, SURE, Kink, all_kinks, strongest
from tapewright.core.magnet.landing_fit import MOVED_NAMES, Fit, fit_instants, fit_moved, fit_stuck
from tapewright.core.measurement import Reading, missing

#: a moving armature changes L by at least this share
LEAST_CHANGE = 0.1
SAMPLES_A_RISE = 120
LONGEST_RISES = 14
MOST_REDUCED = 1.6
BETTER_BY = 40.0
HOP_BETTER_BY = 25.0
BEFORE = 12
#: parameters that all closings of a recording share: level, T1, T2, travel, power
COMMON = (1, 2, 3, 5, 6)
#: chi squared may grow by this much when the common values are put in
MOST_WORSE = 30.0
#: the shape of the motion is not known: what that may do to the landing, in samples and as a share of the travel.
#: The samples' share was raised from 0.15 after 2 x 60 simulated files (246 landings) showed it too small.
SHAPE_SAMPLES, SHAPE_SHARE = 0.25, 0.005
#: a hop is short and followed by others: what that leaves in its length, in samples (found by simulation,
#: tests/core/magnet/test_events.py holds it to account)
HOP_SAMPLES = 1.0
#: a hop is at least this share of the change of inductance deep, and shorter than the way to the first landing
LEAST_DEPTH = 0.05


@dataclass(frozen=True, slots=True)
class ClosingRead:
    """What one closing says.

    Attributes:
        on_s: when the switch closed, from the begin of the recording.
        moved: True, False, or None when it cannot be told.
        why: the reason in a sentence.
        level_a: current at the end.
        tau_open_s: L / R before the armature moved (all the time when it did not).
        tau_closed_s: L / R with the armature landed.
        landing: from the closing to the landing, ms.
        travel: time the motion took, ms.
        bounce: length of the hop after the landing, ms.
        extra_kinks_s: further jumps of the slope, from the closing: double landing, second bounce.
        shape_u_ms: the part of the landing's doubt that all closings share: the shape of the motion is not known.
    """

    on_s: float
    moved: bool | None
    why: str
    level_a: Reading
    tau_open_s: Reading
    tau_closed_s: Reading
    landing: Reading
    travel: Reading
    bounce: Reading
    extra_kinks_s: tuple[float, ...] = ()
    shape_u_ms: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """The samples of one closing that are fitted.

    Attributes:
        times_s: shape (n,), from the first of them.
        current_a: shape (n,), averaged in blocks where the recording is finer than needed.
        noise_a: standard deviation of one of them.
        step_s: their interval.
        skip: how many lie before the rise.
        begin_s: time of the first in the recording.
    """

    times_s: FloatArray
    current_a: FloatArray
    noise_a: float
    step_s: float
    skip: int
    begin_s: float


@dataclass(frozen=True, slots=True, eq=False)
class Analysed:
    """One closing with the fit behind it, for a second look once the others are known.

    Attributes:
        read: what it says.
        window: the samples used.
        fit: the fit with a landing, with or without a hop; None when nothing landed.
    """

    read: ClosingRead
    window: Window
    fit: Fit | None = None


def read_closing(prepared: Prepared, closing: Closing) -> Analysed:
    """Read one closing."""
    window = _window(prepared, closing)
    start = _guess(window)
    if start is None:
        return Analysed(_unknown(window.begin_s, "the rise is too short for this sample rate"), window)
    stuck = fit_stuck(window.times_s, window.current_a, window.noise_a, start)
    kink = strongest(window.current_a, window.noise_a * prepared.noise_scale, window.skip)
    scale = prepared.noise_scale**2
    quiet = kink is None or kink.strength < POSSIBLE
    if kink is not None and not quiet:
        moved, hops = _best_moved(window, stuck, kink)
        if _landed(window, stuck, moved, kink, scale):
            fit = hops or moved
            return Analysed(_moved(window, fit, fit.u(4), prepared), window, fit)
        # among a thousand samples noise makes a jump of that size now and then; a landing would also fit better
        quiet = kink.strength < SURE and (stuck.chi2 - moved.chi2) / scale < HOP_BETTER_BY
    return Analysed(_not_moved(window, stuck, quiet, scale), window)


def look_again(prepared: Prepared, one: Analysed, others: Sequence[Fit]) -> ClosingRead:
    """Read a closing again with level and inductances as all closings together give them.

    What is common to all is known better by the square root of their number; only the instants are this closing's own.
    """
    if one.fit is None or len(others) < 2:
        return one.read
    common = one.fit.values.copy()
    for index in COMMON:
        common[index] = float(np.median([fit.values[index] for fit in others]))
    window = one.window
    fit = fit_instants(window.times_s, window.current_a, window.noise_a, common)
    own = fit.covariance[4, 4]
    u2 = own + max(0.0, one.fit.covariance[4, 4] - own) / len(others)
    if fit.chi2 - one.fit.chi2 > MOST_WORSE:
        return one.read
    again = _moved(window, fit, float(np.sqrt(u2)), prepared)
    return replace(one.read, on_s=again.on_s, landing=again.landing)


def _window(prepared: Prepared, closing: Closing) -> Window:
    first = max(closing.begin, closing.rise - BEFORE)
    piece = prepared.current_a[first : closing.off + 1]
    top = float(np.median(piece[-max(4, piece.size // 4) :]))
    reached = np.flatnonzero(piece > 0.63 * top)
    rise = max(int(reached[0]) - (closing.rise - first), 1) if reached.size else piece.size
    width = max(1, rise // SAMPLES_A_RISE)
    if width > 1:
        first = max(closing.begin, closing.rise - BEFORE * width)
        piece = prepared.current_a[first : closing.off + 1]
    piece = piece[: (closing.rise - first) + LONGEST_RISES * max(rise, 6)]
    piece = piece[: piece.size // width * width].reshape(-1, width).mean(axis=1)
    step = width / prepared.rate_hz
    noise = max(prepared.noise_a / np.sqrt(width), 2e-5 * prepared.level_a)
    # the middle of each block is its time
    begin = (first + (width - 1) / 2) / prepared.rate_hz
    return Window(np.arange(piece.size) * step, piece, noise, step, (closing.rise - first) // width, begin)


def _guess(window: Window) -> FloatArray | None:
    top = float(np.median(window.current_a[-max(4, window.current_a.size // 4) :]))
    above = np.flatnonzero(window.current_a > 0.35 * top)
    if not above.size or above[0] - window.skip < 1 or window.times_s.size < 20:
        return None
    t0 = window.times_s[window.skip] - 0.5 * window.step_s
    tau = (window.times_s[above[0]] - t0) / 0.43
    return np.array([t0, top, max(tau, window.step_s)])


def _best_moved(window: Window, stuck: Fit, kink: Kink) -> tuple[Fit, Fit | None]:
    early = _guess(window)
    base = stuck.values if early is None else early
    landing = window.times_s[kink.index] - base[0]
    starts = [
        np.array([base[0], stuck.values[1], t1, t2, landing, share * landing, power])
        for t1, t2 in ((base[2], 1.4 * base[2]), (0.8 * stuck.values[2], 1.2 * stuck.values[2]))
        for share, power in ((0.3, 3.0), (0.7, 6.0))
    ]
    fits = [fit_moved(window.times_s, window.current_a, window.noise_a, start) for start in starts]
    best = min(fits, key=lambda fit: fit.chi2)
    hops = [
        fit_moved(
            window.times_s, window.current_a, window.noise_a,
            np.append(best.values, [depth, length * best.values[5]]), hop=True,
        )
        for depth, length in ((0.2, 0.5), (0.1, 1.0))
    ]  # fmt: skip
    hop = min(hops, key=lambda fit: fit.chi2)
    # a long, shallow one is what the shape of the motion left over, no armature in the air
    real = hop.values[7] > LEAST_DEPTH and hop.values[8] < hop.values[4]
    return best, (hop if real and best.chi2 - hop.chi2 > HOP_BETTER_BY else None)


def _landed(window: Window, stuck: Fit, moved: Fit, kink: Kink, scale: float) -> bool:
    t1, t2, landing = moved.values[2], moved.values[3], moved.values[4]
    at = kink.index * window.step_s - moved.values[0]
    near = abs(at - landing) < max(kink.window * window.step_s, 0.25 * landing)
    better = (stuck.chi2 - moved.chi2) / scale > BETTER_BY
    return bool(kink.strength > SURE and better and near and t2 > t1)


def _moved(window: Window, fit: Fit, landing_fit_u: float, prepared: Prepared) -> ClosingRead:
    hops = fit.values.size > len(MOVED_NAMES)
    grow = prepared.noise_scale * np.sqrt(max(1.0, fit.reduced))
    values = fit.values
    shape_u = float(np.hypot(SHAPE_SAMPLES * window.step_s, SHAPE_SHARE * values[5]))
    landing_u = np.hypot(grow * landing_fit_u, shape_u)
    kinks = all_kinks(window.current_a, window.noise_a * prepared.noise_scale, window.skip)
    hop_end = values[4] + (values[8] if hops else 0.0)
    extra = []
    for k in kinks:
        at, near = k.index * window.step_s - values[0], max(2 * k.window * window.step_s, 0.3 * values[5])
        if at > 0 and min(abs(at - values[4]), abs(at - hop_end)) > near:
            extra.append(at)
    bounce = missing("ms", "no hop stands out of the noise")
    if hops:
        u_hop = np.hypot(grow * fit.u(8), HOP_SAMPLES * window.step_s)
        bounce = Reading(values[8] * 1e3, float(u_hop) * 1e3, "ms", 1, "hop after the landing")
    return ClosingRead(
        window.begin_s + values[0], True, "the slope jumps up where the inductance stops growing",
        Reading(values[1], grow * fit.u(1), "A", fit.n),
        Reading(values[2], grow * fit.u(2), "s", fit.n), Reading(values[3], grow * fit.u(3), "s", fit.n),
        Reading(values[4] * 1e3, float(landing_u) * 1e3, "ms", 1, "from the closing of the switch"),
        Reading(values[5] * 1e3, grow * fit.u(5) * 1e3, "ms", 1, "from the first motion to the landing"),
        bounce, tuple(extra), shape_u * 1e3,
    )  # fmt: skip


def _not_moved(window: Window, stuck: Fit, quiet: bool, scale: float) -> ClosingRead:
    grow = float(np.sqrt(scale * max(1.0, stuck.reduced / scale)))
    level = Reading(stuck.values[1], grow * stuck.u(1), "A", stuck.n)
    tau = Reading(stuck.values[2], grow * stuck.u(2), "s", stuck.n)
    none = missing("ms", "the armature did not move")
    change, u = _change_of_tau(window, stuck, grow)
    if quiet and stuck.reduced < MOST_REDUCED * scale and abs(change) + 2 * u < LEAST_CHANGE:
        why = f"one inductance fits the whole rise (change {change * 100:+z.1f} ± {2 * u * 100:.1f} %), no dip"
        return ClosingRead(window.begin_s + stuck.values[0], False, why, level, tau, tau, none, none, none)
    if not quiet:
        why = "something like a dip, but not clear of the noise"
    elif stuck.reduced >= MOST_REDUCED * scale:
        why = "the rise is not that of one inductance, and shows no landing either"
    else:
        why = f"noise or sampling hides a change of L (up to {(abs(change) + 2 * u) * 100:.0f} %)"
    return _unknown(window.begin_s + stuck.values[0], why, level)


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


def _unknown(on_s: float, why: str, level: Reading | None = None) -> ClosingRead:
    none = missing("ms", why)
    tau = missing("s", why)
    return ClosingRead(on_s, None, why, level or missing("A", why), tau, tau, none, none, none)
