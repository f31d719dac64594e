"""Where the power goes: coil, resistor, supply; what resistor to fit; how long the coil may be held."""

from dataclasses import dataclass

import numpy as np

from tapewright.coil.drive.circuit import CURRENT, TERMINALS
from tapewright.coil.drive.drive import Coil, Drive
from tapewright.coil.drive.trace import Trace
from tapewright.reference.conductors import COPPER_PER_KELVIN
from tapewright.reference.resistor_derating import SOLD_W, USED_FRACTION


@dataclass(frozen=True, slots=True)
class Power:
    """Power in watts: held in mark for ever (the line's rest), highest, and mean over the text.

    Attributes:
        held_w: with the switch closed for ever.
        peak_w: highest at any moment of the text.
        mean_w: mean over the text.
    """

    held_w: float
    peak_w: float
    mean_w: float


@dataclass(frozen=True, slots=True)
class Heat:
    """Where the power goes.

    Attributes:
        supply: what the supply delivers.
        coil: what the coil turns into heat.
        resistor: what the series resistor turns into heat.
        suppressor_mean_w: what suppressor and contact turn into heat, mean over the text.
        break_j: energy the contact or the suppressor across it takes at one break of the full current.
    """

    supply: Power
    coil: Power
    resistor: Power
    suppressor_mean_w: float
    break_j: float

    @property
    def fit_w(self) -> float:
        """Rating the resistor should at least have: its held power over the fraction of a rating that is used."""
        return max(self.resistor.held_w, self.resistor.mean_w) / USED_FRACTION.value

    @property
    def sold_w(self) -> float | None:
        """The next rating sold; None when it is beyond the list."""
        return next((rating for rating in SOLD_W if rating >= self.fit_w), None)


def heat_of(drive: Drive, text: Trace, one_break: Trace) -> Heat:
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
    return Heat(
        Power(held_volts * steady, peak_supply, supply_j / span),
        Power(drive.coil.r_ohm * steady**2, drive.coil.r_ohm * coil_a**2, coil_j / span),
        Power(drive.series_ohm * steady**2, drive.series_ohm * load_a**2, series_j / span),
        max(0.0, (supply_j - coil_j - series_j) / span),
        max(0.0, beside),
    )


@dataclass(frozen=True, slots=True)
class Duty:
    """How long the coil may have current.

    Attributes:
        mark_fraction: share of the text during which the switch is closed.
        held_w: power held for ever, at the resistance given.
        allowed_fraction: share of time the coil may be on; None when nothing says how much it stands.
        hot_c: temperature it settles at when held for ever; None when its rise per watt is not known.
        why: how the answer came about, or what is missing.
    """

    mark_fraction: float
    held_w: float
    allowed_fraction: float | None
    hot_c: float | None
    why: str


def duty_of(drive: Drive, mark_fraction: float, room_c: float) -> Duty:
    """Say how long the coil may be on.

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
