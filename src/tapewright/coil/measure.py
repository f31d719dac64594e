"""What a recorded coil current says: R, L, whether and when the armature landed, over all closings."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from tapewright.coil.cautions import GENERAL, READ_CAUTIONS
from tapewright.coil.closing import Analysed, look_at
from tapewright.coil.closing_read import ClosingRead
from tapewright.coil.coil_recording import Closing, FloatArray, Prepared, clipped
from tapewright.coil.document import Closure, Coil, CurrentSource, Suspected
from tapewright.coil.hum import prepare_without_hum
from tapewright.coil.landings import Landed, read_landed, told, untold_note
from tapewright.coil.release import read_release
from tapewright.number import Reading, missing

#: a landing later than this many times the others' scatter, and this share, is called slow
SLOW_SHARE, SLOW_SIGMAS = 0.2, 4.0
#: samples of a steady end, and what may be missing from it
LEAST_STEADY, NOT_STEADY = 4, 5e-4
#: one eddy-current path in the iron, of a per cent or two of the winding's conductance, looks like so much more L and
#: shows nowhere else in a rise (common practice, no source)
IRON_SHARE = 0.01
DO = "Record directly coupled, across a shunt."


@dataclass(frozen=True, slots=True)
class Loop:
    """What is known of the loop the current was recorded in.

    Attributes:
        volts: the supply; None when not known (then neither R nor L can be told).
        shunt_ohm: the resistor the current was measured across; it is in the loop. None: samples are amperes.
        series_ohm: other resistance in the loop that is not the coil.
    """

    volts: float | None = None
    shunt_ohm: float | None = None
    series_ohm: float = 0.0

    @property
    def beside_ohm(self) -> float:
        """Resistance in the loop beside the coil."""
        return (self.shunt_ohm or 0.0) + self.series_ohm


@dataclass(frozen=True, slots=True, eq=False)
class CurrentRead:
    """A recorded current as it was read.

    Attributes:
        prepared: the recording, for its picture.
        coil: what it says; the name of its file is still to be filled in.
    """

    prepared: Prepared
    coil: Coil


def read_current(samples: FloatArray, rate_hz: float, loop: Loop) -> CurrentRead:
    """Read a recorded coil current.

    Args:
        samples: shape (n,), volts across the shunt when `loop.shunt_ohm` is given, else amperes.
        rate_hz: sample rate.
        loop: what is known of the loop.
    """
    prepared, hum = prepare_without_hum(samples / (loop.shunt_ohm or 1.0), rate_hz)
    if not prepared.doubts and clipped(prepared):
        prepared = replace(prepared, doubts=("the current is cut off at the top of the instrument's range",))
    if prepared.doubts:
        return CurrentRead(prepared, _cannot(prepared, samples.size))
    reads, landed = _reads(prepared)
    releases = [read_release(prepared, closing) for closing in prepared.closings]
    levels = [steady_level(prepared, closing, read) for closing, read in zip(prepared.closings, reads, strict=True)]
    level = _with(pooled(levels, "A"), float(np.hypot(prepared.rest_u_a, prepared.coarse_a / np.sqrt(3))))
    moved = _verdict([read.moved for read in reads])
    total_ohm = _total(level, loop)
    landings = [read.landing for read in reads]
    still = [read.tau_open_s for read in reads if not read.moved]
    tau_open = pooled([landed.tau_open_s, *still] if landed else still, "s")
    tau_closed = landed.tau_closed_s if landed else missing("s", "the armature did not land")
    coil = Coil(
        cautions=(*READ_CAUTIONS, GENERAL),
        source=_source(prepared, samples.size),
        resistance_ohm=_coil_ohm(total_ohm, loop),
        inductance_h=_times(tau_open, total_ohm),
        inductance_landed_h=_times(tau_closed, total_ohm),
        tau_ms=tau_open.scaled(1e3, "ms"),
        moved=moved,
        landing_ms=_with(averaged(landings), landed.shared_u_ms if landed else 0.0),
        scatter_ms=scatter_of(landings),
        release_ms=averaged(releases),
        closures=_closures(reads, releases),
        instrument=(),
        comparison=None,
        notes=(*([hum] if hum else ()), *_notes(reads, moved, loop), *untold_note(tuple(reads))),
    )
    return CurrentRead(prepared, coil)


def _source(prepared: Prepared, samples: int) -> CurrentSource:
    return CurrentSource(
        file="",
        sha256="",
        channel="",
        samples=samples,
        rate_hz=prepared.rate_hz,
        inverted=prepared.inverted,
        offset_a=prepared.offset_a,
        noise_a=prepared.noise_a,
    )


def _closures(reads: Sequence[ClosingRead], releases: Sequence[Reading]) -> tuple[Closure, ...]:
    late = _late_from(reads)
    return tuple(
        Closure(
            on_s=read.on_s,
            moved=read.moved,
            why=read.why,
            level_a=read.level_a,
            landing_ms=read.landing,
            travel_ms=read.travel,
            bounce_ms=read.bounce,
            release_ms=release,
            slow=read.landing.value is not None and read.landing.value > late,
            further_dips_ms=tuple(time * 1e3 for time in read.extra_kinks_s),
        )
        for read, release in zip(reads, releases, strict=True)
    )


def _late_from(reads: Sequence[ClosingRead]) -> float:
    """Return the landing from which one is slow; infinite where there are too few to tell."""
    values = np.array([read.landing.value for read in reads if read.landing.value is not None])
    if values.size < 3:
        return np.inf
    middle = float(np.median(values))
    spread = 1.4826 * float(np.median(np.abs(values - middle)))
    return middle + max(SLOW_SHARE * middle, SLOW_SIGMAS * spread)


def _reads(prepared: Prepared) -> tuple[list[ClosingRead], Landed | None]:
    """Look at each closing alone, then at those with a landing together."""
    analysed: list[Analysed] = []
    for closing in prepared.closings:
        like = next((one.fit for one in reversed(analysed) if one.fit is not None), None)
        analysed.append(look_at(prepared, closing, like))
    landed = read_landed(prepared, analysed) if any(one.fit is not None for one in analysed) else None
    those = iter(landed.reads if landed else ())
    return [one.read or told(next(those), prepared.rate_hz) for one in analysed], landed


def _cannot(prepared: Prepared, samples: int) -> Coil:
    why = "cannot tell: " + "; ".join(prepared.doubts)
    ms, ohm, henry = missing("ms", why), missing("ohm", why), missing("H", why)
    return Coil(
        cautions=(*READ_CAUTIONS, GENERAL),
        source=_source(prepared, samples),
        resistance_ohm=ohm,
        inductance_h=henry,
        inductance_landed_h=henry,
        tau_ms=ms,
        moved=None,
        landing_ms=ms,
        scatter_ms=ms,
        release_ms=ms,
        closures=(),
        instrument=tuple(Suspected(suspicion=doubt, evidence=doubt, do=DO) for doubt in prepared.doubts),
        comparison=None,
        notes=(why,),
    )


def _verdict(answers: Sequence[bool | None]) -> bool | None:
    """Return what all that could be judged say; that it did not move needs more than half of all."""
    known = [answer for answer in answers if answer is not None]
    if len(set(known)) != 1 or (not known[0] and 2 * len(known) <= len(answers)):
        return None
    return known[0]


def steady_level(prepared: Prepared, closing: Closing, read: ClosingRead) -> Reading:
    """Return the current at the end of a closing: the mean of what is steady, else as fitted."""
    held = prepared.current_a[closing.rise : closing.off - 1]
    slowest = max((tau.value for tau in (read.tau_open_s, read.tau_closed_s) if tau.value is not None), default=np.inf)
    # all that is steady, in two halves that show whether it is
    begin = np.log(1 / NOT_STEADY) * slowest * prepared.rate_hz
    count = int(max(held.size - begin, 0.0)) // 2
    if count < LEAST_STEADY:
        return read.level_a
    last, before = float(held[-count:].mean()), float(held[-2 * count : -count].mean())
    u = prepared.white_a * prepared.noise_scale / np.sqrt(2 * count)
    drift = abs(last - before)
    if drift > 4 * u:
        return Reading(last, float(np.hypot(np.sqrt(2) * u, drift)), "A", count, "end of the closing, not quite steady")
    return Reading((last + before) / 2, u, "A", 2 * count, "mean of the steady end of the closing")


def pooled(readings: Sequence[Reading], unit: str) -> Reading:
    """Return the weighted mean of several readings of the same thing.

    Its doubt is at least what their spread shows (Birge ratio).
    """
    pairs = [(r.value, max(r.u, 1e-15)) for r in readings if r.value is not None and r.u is not None]
    if not pairs:
        return missing(unit, readings[0].how if readings else "there is none")
    values, u = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
    weights = 1 / u**2
    mean = float((values * weights).sum() / weights.sum())
    inner = float(1 / np.sqrt(weights.sum()))
    birge = np.sqrt(float((((values - mean) / u) ** 2).sum()) / (len(pairs) - 1)) if len(pairs) > 1 else 1.0
    return Reading(mean, inner * max(1.0, birge), unit, len(pairs), f"weighted mean of {len(pairs)} closings")


def _with(reading: Reading, u: float) -> Reading:
    """Add a doubt that all closings share."""
    return reading if reading.u is None else reading.but(u=float(np.hypot(reading.u, u)))


def averaged(readings: Sequence[Reading]) -> Reading:
    """Return the plain mean with the larger of its own doubt and what the scatter shows."""
    pairs = [(r.value, r.u or 0.0) for r in readings if r.value is not None]
    if not pairs:
        return missing("ms", readings[0].how if readings else "there is none")
    values, u = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
    inner = float(np.sqrt((u**2).sum())) / len(pairs)
    outer = float(values.std(ddof=1)) / np.sqrt(len(pairs)) if len(pairs) > 1 else 0.0
    return Reading(float(values.mean()), float(max(inner, outer)), "ms", len(pairs), f"mean of {len(pairs)} closings")


def scatter_of(readings: Sequence[Reading]) -> Reading:
    """Return the standard deviation of single values; its own doubt is s / sqrt(2 (n - 1))."""
    values = [r.value for r in readings if r.value is not None]
    if len(values) < 2:
        return missing("ms", "scatter needs at least two landings")
    s = float(np.std(values, ddof=1))
    return Reading(s, s / np.sqrt(2 * (len(values) - 1)), "ms", len(values), "standard deviation of single landings")


def _total(level: Reading, loop: Loop) -> Reading:
    """R of the whole loop, V / I."""
    if loop.volts is None:
        return missing("ohm", "the supply's voltage is not known (--supply)")
    if level.value is None or level.u is None:
        return missing("ohm", level.how)
    return Reading(loop.volts / level.value, loop.volts / level.value**2 * level.u, "ohm", level.n, "V / I")


def _coil_ohm(total: Reading, loop: Loop) -> Reading:
    if total.value is None:
        return total
    if total.value <= loop.beside_ohm:
        return missing("ohm", "the loop has less resistance than what is said to be beside the coil")
    return total.but(value=total.value - loop.beside_ohm)


def _times(tau_s: Reading, total: Reading) -> Reading:
    """L = T R of the loop."""
    if tau_s.value is None or total.value is None or tau_s.u is None or total.u is None:
        return missing("H", tau_s.how if tau_s.value is None else total.how)
    value = tau_s.value * total.value
    u = float(np.hypot(np.hypot(tau_s.u * total.value, tau_s.value * total.u), IRON_SHARE * value))
    return Reading(value, u, "H", tau_s.n, "time constant times resistance of the loop")


def _notes(reads: Sequence[ClosingRead], moved: bool | None, loop: Loop) -> tuple[str, ...]:
    notes = []
    moving, still = (sum(read.moved is answer for read in reads) for answer in (True, False))
    unjudged = [read.why for read in reads if read.moved is None]
    if moved is None and moving and still:
        notes.append(f"the closings differ: moved at {moving}, not at {still} of {len(reads)}")
    elif moved is None:
        notes.append("cannot tell whether it moved: " + unjudged[0])
    if unjudged and len(reads) > 1:
        notes.append(f"{len(unjudged)} of {len(reads)} closings could not be judged: {unjudged[0]}")
    if loop.volts is None:
        notes.append("R and L are not given: the supply's voltage is not known (--supply)")
    return tuple(notes)
