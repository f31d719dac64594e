"""Is the speed proven? A timing verdict without a proven speed is refused, with the reason."""

import math

from tapewright.line.decomposition import Decomposition
from tapewright.line.document import LineSettings, LineSpeed
from tapewright.line.frames import Frames
from tapewright.line.own_kind import DOUBTFUL, FEWEST, left_over
from tapewright.line.ripple import RIPPLE_HIGH_HZ, Ripple
from tapewright.line.speed import Stream
from tapewright.number import Reading, missing
from tapewright.recordings.capture import Suspicion
from tapewright.reference.speeds import CHARACTERS_PER_WORD, CLASSES

#: Doubt of the unit beyond which the sixth boundary is uncertain by more than a few per cent of a unit.
LARGEST_DOUBT = 0.005
#: Of fewer characters nothing shows how much they differ from one to the next (owner's choice).
FEWEST_CHARACTERS = 2
#: A measured speed belongs to the nearest class when that is this much nearer than the next one.
NEARER = 0.4
#: No class is nearer than this: an unusual speed.
FARTHEST_CLASS = 0.08
#: What two senders in one recording are called.
SENDERS = "two senders one after the other"
#: What the recorder does that makes every time doubtful.
BREAKS_TIME = ("dropped samples", "time runs backwards")


def nearest_class(baud: float) -> tuple[float | None, bool]:
    """Return the usual speed nearest to a measured one, and whether it is clearly the nearest."""
    near = sorted(CLASSES, key=lambda c: abs(math.log(baud / c)))
    first, second = abs(math.log(baud / near[0])), abs(math.log(baud / near[1]))
    if first > FARTHEST_CLASS:
        return None, False
    return near[0], first <= NEARER * second


def state_speed(
    split: Decomposition,
    frames: Frames,
    settings: LineSettings,
    *,
    stream: Stream | None,
    ripple: Ripple | None,
    drift: tuple[float, float] | None,
    rival_s: float | None,
    suspicions: tuple[Suspicion, ...],
    senders: str = "",
) -> LineSpeed:
    """Put the speed together, with what makes it proven or not."""
    n, clock = int(frames.start.size), settings.clock_ppm * 1e-6 / math.sqrt(3)
    relative = math.hypot(split.unit_u_s / split.unit_s, clock)
    unit = Reading(1e3 * split.unit_s, 1e3 * split.unit_s * relative, "ms", n)
    baud = Reading(1 / split.unit_s, relative / split.unit_s, "Bd", n)
    nominal, sure = (settings.nominal_baud, True) if settings.nominal_baud else nearest_class(1 / split.unit_s)
    error = (
        Reading(100 * (baud.value / nominal - 1), 100 * relative * baud.value / nominal, "percent", n)
        if nominal and baud.value
        else missing("percent", "no usual speed is near; give the nominal speed")
    )
    why = senders or _doubts(relative, n, rival_s, split, suspicions) or _much_left_over(frames)
    return LineSpeed(
        unit_ms=unit,
        baud=baud,
        nominal_baud=nominal,
        nominal_given=settings.nominal_baud is not None,
        error_percent=error,
        **_stream_readings(stream, split, clock, settings.elements),
        ripple_percent=_ripple(ripple),
        ripple_hz=Reading(ripple.frequency_hz, None, "Hz") if ripple and ripple.shown else missing("Hz", "no ripple"),
        drift_percent=Reading(100 * drift[0], 100 * drift[1], "percent", n)
        if drift
        else missing("percent", "too few characters to see a drift"),
        proven=not why,
        nominal_proven=not why and sure,
        why=why or ("" if sure else _unsure(1 / split.unit_s)),
    )


def _doubts(
    relative: float, n: int, rival_s: float | None, split: Decomposition, suspicions: tuple[Suspicion, ...]
) -> str:
    broken = [s.suspicion for s in suspicions if s.suspicion in BREAKS_TIME]
    if broken:
        return f"the recording's own time cannot be trusted ({broken[0]})"
    if rival_s is not None:
        return f"a unit of {1e3 * rival_s:.2f} ms explains the recording as well as {1e3 * split.unit_s:.2f} ms does"
    if n < FEWEST_CHARACTERS:
        return "a single character does not show how much one differs from the next: key some more"
    if relative > LARGEST_DOUBT:
        many = "" if n >= 5 else f" from {n} character{'s' if n != 1 else ''}"
        return f"the unit is only known to {200 * relative:.1f} %{many}"
    return ""


def _much_left_over(frames: Frames) -> str:
    share = left_over(frames)
    if share <= DOUBTFUL or frames.start.size + frames.skipped < FEWEST:
        return ""
    left = f"{100 * share:.0f} % of what could begin a character begins none"
    return f"{left}: the speed changes a lot, or this is another kind of signal"


def _unsure(baud: float) -> str:
    near = sorted(CLASSES, key=lambda c: abs(math.log(baud / c)))[:2]
    if nearest_class(baud)[0] is None:
        return f"{baud:.2f} Bd is near no usual speed; give the nominal speed"
    says = " or ".join(f"{c:.5g} Bd {100 * (baud / c - 1):+z.1f} %" for c in near)
    return f"it could be {says}; give the nominal speed"


def _stream_readings(stream: Stream | None, split: Decomposition, clock: float, elements: int) -> dict[str, Reading]:
    if stream is None:
        why = "no run of characters at full speed"
        return {
            "character_ms": missing("ms", why),
            "stop_units": missing("unit", why),
            "characters_per_minute": missing("per minute", why),
            "words_per_minute": missing("per minute", why),
        }
    period, n = stream.character_s, stream.n
    u = math.hypot(stream.character_u_s, period * clock)
    stop_u = math.hypot(stream.character_u_s, period / split.unit_s * split.unit_u_s) / split.unit_s
    rate = 60 / period
    return {
        "character_ms": Reading(1e3 * period, 1e3 * u, "ms", n),
        "stop_units": Reading(period / split.unit_s - elements - 1, stop_u, "unit", n),
        "characters_per_minute": Reading(rate, rate * u / period, "per minute", n),
        "words_per_minute": Reading(
            rate / CHARACTERS_PER_WORD, rate / CHARACTERS_PER_WORD * u / period, "per minute", n
        ),
    }


def _ripple(ripple: Ripple | None) -> Reading:
    if ripple is None:
        return missing("percent", "too few instants to see a ripple")
    if not ripple.shown:
        least = f"no ripple above {100 * ripple.amplitude:.2g} % is shown up to {RIPPLE_HIGH_HZ:.0f} Hz"
        return missing("percent", least)
    return Reading(100 * ripple.amplitude, 100 * ripple.u, "percent")
