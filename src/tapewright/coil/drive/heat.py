"""Where the power goes: coil, resistor, supply; what resistor to fit; how long the coil may be held."""

import numpy as np

from tapewright.coil.document import Duty, Power, Powers
from tapewright.coil.drive.circuit import CURRENT, TERMINALS
from tapewright.coil.drive.drive import Coil, Drive
from tapewright.coil.drive.solved import Trace
from tapewright.reference.conductors import COPPER_PER_KELVIN
from tapewright.reference.resistor_derating import SOLD_W, USED_FRACTION


def fit_w(resistor: Power) -> float:
    """Return the rating a resistor should at least have: its power over the fraction of a rating that is used."""
    return max(resistor.held_w, resistor.mean_w) / USED_FRACTION.value


def sold_w(least_w: float) -> float | None:
    """Return the next rating sold; None when it is beyond the list."""
    return next((rating for rating in SOLD_W if rating >= least_w), None)


def heat_of(drive: Drive, text: Trace, one_break: Trace) -> Powers:
    """Add up the power over a text and one break."""
    span = text.segments[-1].end_s - text.segments[0].start_s
    supply_j = sum(s.integral(TERMINALS, s.solved.rows.load_a) for s in text.segments)
    coil_j = sum(s.integral(CURRENT, CURRENT) for s in text.segments) * drive.coil.r_ohm
    series_j = sum(s.integral(s.solved.rows.load_a, s.solved.rows.load_a) for s in text.segments) * drive.series_ohm
    coil_a = max(abs(float(s.along(CURRENT)[[0, -1]].max())) for s in text.segments)
    load_a = text.highest("load_a")
    peak_supply = max(float((s.along(TERMINALS) * s.along(s.solved.rows.load_a)).max()) for s in text.segments)
    steady = drive.steady_a
    held_volts = steady * drive.loop_ohm
    beside = sum(
        s.integral(s.solved.rows.switch_v, s.solved.rows.load_a) for s in one_break.segments if not s.condition.closed
    )
    return Powers(
        supply=Power(held_volts * steady, peak_supply, supply_j / span),
        coil=Power(drive.coil.r_ohm * steady**2, drive.coil.r_ohm * coil_a**2, coil_j / span),
        resistor=Power(drive.series_ohm * steady**2, drive.series_ohm * load_a**2, series_j / span),
        suppressor_mean_w=max(0.0, (supply_j - coil_j - series_j) / span),
        break_j=max(0.0, beside),
    )


def duty_of(drive: Drive, mark_fraction: float, room_c: float) -> Duty:
    """Return how long the coil may be on.

    Held at a fixed supply the coil's resistance grows as it warms: T = room + K P(T), solved by repetition.
    """
    coil, held_w = drive.coil, drive.coil.r_ohm * drive.steady_a**2
    hot_c = _hot(drive, room_c)
    allowed_w, why = _allowed(coil, room_c)
    if allowed_w is None:
        return Duty(mark_fraction, held_w, None, hot_c, why)
    return Duty(mark_fraction, held_w, min(1.0, allowed_w / held_w) if held_w else 1.0, hot_c, why)


def _allowed(coil: Coil, room_c: float) -> tuple[float | None, str]:
    if coil.max_w is not None:
        return coil.max_w, f"the coil is stated to stand {coil.max_w:.3g} W for ever"
    if coil.k_per_w is not None and coil.max_c is not None:
        watts = max(0.0, (coil.max_c - room_c) / coil.k_per_w)
        return watts, f"{watts:.3g} W bring it from {room_c:g} to {coil.max_c:g} degrees"
    return None, "not known what the coil stands: give its max_w, or max_c and k_per_w"


def _hot(drive: Drive, room_c: float) -> float | None:
    coil = drive.coil
    if coil.k_per_w is None:
        return None
    temperature = room_c
    for _ in range(200):
        r = coil.r_ohm * (1 + COPPER_PER_KELVIN.value * (temperature - coil.at_c))
        current = min(drive.supply.volts / (r + drive.series_ohm), drive.supply.limit_a)
        temperature = room_c + coil.k_per_w * r * current**2
    return float(temperature) if np.isfinite(temperature) and temperature < 1e4 else None
