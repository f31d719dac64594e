"""The closings at which something landed, read together: one coil, one kind of flight, each its own landing.

Whether a landing is known well enough to be told, and what is said where it is not.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tapewright.coil.closing import Analysed
from tapewright.coil.closing_read import ClosingRead
from tapewright.coil.coil_recording import Prepared
from tapewright.coil.flight_fit import side_by_side
from tapewright.coil.kinks import all_kinks
from tapewright.coil.landing_fit import LANDING, LEVEL, T1, T2, TRAVEL, Fit
from tapewright.coil.landing_times import Rough, Timed, time_landings
from tapewright.coil.window import Window
from tapewright.number import Reading, missing

WHY = "the slope jumps up where the inductance stops growing"
#: a hop is told when it is this sure, and longer than so many samples
SURE_OF_A_HOP, HOP_SAMPLES = 0.999, 1.5
#: several hops count as one here, the first is not quite a parabola: what that leaves in its length, in samples (found
#: by simulation, tests/core/magnet/test_events.py holds it to account)
HOP_SAMPLES_U = 1.0
#: what the best flight leaves, over what the noise allows (chi squared a sample), may be this before it is refused
MOST_MISFIT = 1.8


@dataclass(frozen=True, slots=True, eq=False)
class Landed:
    """What the closings with a landing say together.

    Attributes:
        reads: one by one.
        tau_open_s: L / R with the armature out.
        tau_closed_s: L / R with it landed.
        shared_u_ms: the doubt that all landings share.
    """

    reads: tuple[ClosingRead, ...]
    tau_open_s: Reading
    tau_closed_s: Reading
    shared_u_ms: float = 0.0


def read_landed(prepared: Prepared, analysed: Sequence[Analysed]) -> Landed:
    """Read the closings that have a fit with a landing; there must be one at least."""
    found = [(one.window, one.fit) for one in analysed if one.fit is not None]
    values = np.array([fit.values for _, fit in found])
    middle = np.median(values, axis=0)
    samples = side_by_side(
        [(w.times_s, w.current_a, w.noise_a * prepared.noise_scale * float(np.sqrt(w.alike))) for w, _ in found],
        np.ones(len(found)),
    )
    rough = Rough(middle[LEVEL], middle[T1], middle[T2], middle[TRAVEL], values[:, 0], values[:, LANDING])
    timed = time_landings(samples, rough)
    if timed is None or timed.reduced > MOST_MISFIT:
        none = missing("s", "no flight of an armature fits the rise")
        return Landed(tuple(_untimed(prepared, window, fit) for window, fit in found), none, none)
    how = f"flights of an armature, {len(found)} closings together"
    tau_open, tau_closed = (Reading(value, u, "s", len(found), how) for value, u in (timed.t1_s, timed.t2_s))
    taus = (tau_open, tau_closed)
    reads = tuple(_timed(prepared, window, fit, timed, n, taus) for n, (window, fit) in enumerate(found))
    return Landed(reads, tau_open, tau_closed, timed.shared_u_s * 1e3)


def _level(prepared: Prepared, fit: Fit) -> Reading:
    return Reading(fit.values[LEVEL], prepared.noise_scale * np.sqrt(max(1.0, fit.reduced)) * fit.u(LEVEL), "A", fit.n)


def _timed(
    prepared: Prepared, window: Window, fit: Fit, timed: Timed, number: int, taus: tuple[Reading, Reading]
) -> ClosingRead:
    landing, travel, hop = (float(row[number]) for row in (timed.landings_s, timed.travel_s, timed.hops_s))
    instant = float(timed.instants_s[number])
    bounce = missing("ms", "no hop stands out of the noise")
    hops = timed.rebounds > SURE_OF_A_HOP and hop > HOP_SAMPLES * window.step_s
    if hops:
        u = float(np.hypot(timed.hop_u_s, HOP_SAMPLES_U * window.step_s))
        bounce = Reading(hop * 1e3, u * 1e3, "ms", 1, "hop after the landing")
    ends = (landing, landing + hop) if hops else (landing,)
    jumps = _jumps(prepared, window, instant)
    return ClosingRead(
        window.begin_s + instant, True, WHY, _level(prepared, fit), *taus,
        Reading(landing * 1e3, float(timed.landings_u_s[number]) * 1e3, "ms", 1, "from the closing of the switch"),
        Reading(travel * 1e3, timed.travel_u_s * 1e3, "ms", 1, "from the first motion to the landing"),
        bounce, _further(jumps, window, ends, travel), tuple(at for at, _ in jumps),
    )  # fmt: skip


def _untimed(prepared: Prepared, window: Window, fit: Fit) -> ClosingRead:
    instant, landing, travel = (float(fit.values[index]) for index in (0, LANDING, TRAVEL))
    jumps = _jumps(prepared, window, instant)
    at = tuple(at for at, _ in jumps)
    about = f"cannot tell when it landed: no flight of an armature fits; about {landing * 1e3:.1f} ms"
    about, further = (_two(at), at) if len(at) > 1 else (about, _further(jumps, window, (landing,), travel))
    none, tau = missing("ms", about), missing("s", about)
    return ClosingRead(
        window.begin_s + instant, True, WHY, _level(prepared, fit), tau, tau, none, none, none, further, at
    )


def _two(jumps_s: Sequence[float]) -> str:
    at = " and ".join(f"{1e3 * jump:.1f}" for jump in jumps_s)
    return f"cannot tell when it landed: the slope jumps up at about {at} ms, as with two landings or two armatures"


def _jumps(prepared: Prepared, window: Window, instant: float) -> list[tuple[float, int]]:
    """Return the upward jumps of the slope, from the closing, and the window each was seen with."""
    kinks = all_kinks(window.current_a, window.white_a * prepared.noise_scale, window.skip, window.coarse_a)
    found = [(kink.index * window.step_s - instant, kink.window) for kink in kinks]
    return [(at, width) for at, width in found if at > 0]


def _further(
    jumps: Sequence[tuple[float, int]], window: Window, known: Sequence[float], travel: float
) -> tuple[float, ...]:
    """Return the jumps that neither the landing nor its hop explains."""
    further = []
    for at, width in jumps:
        near = max(2 * width * window.step_s, 0.3 * travel)
        if min(abs(at - one) for one in known) > near:
            further.append(at)
    return tuple(further)


#: A landing whose expanded doubt (2u) is above this, and above one sample, is not told. Chosen for the use: it is
#: under one per cent of a unit of 22 ms; a landing known less well moves when nothing else has.
MOST_DOUBT_MS = 0.16


def told(read: ClosingRead, rate_hz: float) -> ClosingRead:
    """Return a closing's read without its landing where noise or sampling leave that too open."""
    landing = read.landing
    if landing.value is None or landing.u is None or 2 * landing.u <= max(MOST_DOUBT_MS, 1e3 / rate_hz):
        return read
    if len(read.jumps_s) > 1:
        return replace(read, landing=missing("ms", _two(read.jumps_s)), extra_kinks_s=read.jumps_s)
    about = f"about {landing.value:.1f} ms after the closing, open by ± {2 * landing.u:.2f} ms"
    return replace(read, landing=missing("ms", f"cannot tell when it landed: {about}"))


def untold_note(reads: tuple[ClosingRead, ...]) -> tuple[str, ...]:
    """Say how many landings are not told, and the first one's reason; empty where all are."""
    untold = [read for read in reads if read.moved and read.landing.value is None]
    if not untold:
        return ()
    first = f"closing at {untold[0].on_s:.4f} s: {untold[0].landing.how}"
    return (f"{len(untold)} of {len(reads)} landings not told; {first}",)
