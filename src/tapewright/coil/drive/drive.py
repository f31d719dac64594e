r"""What drives a magnet: supply, series resistor, switch, suppressor, coil.

Picture (switch on the low side; on the high side it sits between Rs and the coil, and nothing else changes):

      +----[ Rs ]---+------------------+
      |             |                  |
    supply        coil R, L       suppressor across the coil:
      |             |              diode, diode + r, zener, rc
      |             +------------------+
      |             |
      |           switch ---- or across the switch: zener, rc
      |             |
      +-------------+

Model of a diode or zener: nothing below its voltage, above it a fixed voltage plus a resistance. Model of
"none": the opening contact breaks down at `breakdown_v` and holds that voltage until the current is gone.
"""

import math
from dataclasses import dataclass, replace
from enum import Enum

from tapewright.reference.conductors import COPPER_PER_KELVIN
from tapewright.reference.gas_breakdown import LOWEST_BREAKDOWN_V

#: Forward drop of an ordinary silicon diode at tens of milliamperes. From memory; a datasheet says more.
DIODE_DROP_V = 0.7
#: Output capacitance assumed for a supply that limits its current and says nothing. Common practice, no source.
OUTPUT_CAPACITANCE_F = 100e-6


class Kind(Enum):
    """The suppressors."""

    NONE = "none"
    DIODE = "diode"
    DIODE_R = "diode+r"
    ZENER = "zener"
    RC = "rc"


@dataclass(frozen=True, slots=True)
class Coil:
    """One magnet as its terminals show it (for a pair of coils: as wired).

    Attributes:
        r_ohm: resistance at `at_c`.
        l_h: inductance.
        pull_in_a: current at which the armature starts to move in.
        drop_out_a: current at which it starts to move out; below the pull-in current.
        travel_s: time the armature takes to travel in, added to the electrical operate time; 0 leaves it out.
        return_s: time it takes to travel out, added to the release time; 0 leaves it out.
        at_c: temperature at which r_ohm was measured.
        k_per_w: temperature rise for each watt held for ever; None when not known.
        max_c: highest temperature the winding may reach; None when not known.
        max_w: power it may take for ever, as its maker states; None when not known.
    """

    r_ohm: float
    l_h: float
    pull_in_a: float
    drop_out_a: float
    travel_s: float = 0.0
    return_s: float = 0.0
    at_c: float = 20.0
    k_per_w: float | None = None
    max_c: float | None = None
    max_w: float | None = None

    def at_temperature(self, temperature_c: float) -> "Coil":
        """Return the coil with its resistance at another temperature (copper, R grows in a straight line)."""
        factor = 1 + COPPER_PER_KELVIN.value * (temperature_c - self.at_c)
        return replace(self, r_ohm=self.r_ohm * factor, at_c=temperature_c)


def pair_of(one: Coil, wiring: str, coupling: float) -> Coil:
    """Wire two equal coils in "series" or "parallel", aiding, on iron that couples them by k = 0 to 1.

    Series: 2 R, 2 L (1 + k), the same current. Parallel: R / 2, L (1 + k) / 2, twice the current.
    Either way L / R is the same; only volts and amperes change places.
    """
    if wiring == "series":
        return replace(one, r_ohm=2 * one.r_ohm, l_h=2 * one.l_h * (1 + coupling))
    return replace(
        one,
        r_ohm=one.r_ohm / 2,
        l_h=one.l_h * (1 + coupling) / 2,
        pull_in_a=2 * one.pull_in_a,
        drop_out_a=2 * one.drop_out_a,
    )


@dataclass(frozen=True, slots=True)
class Supply:
    """A direct-current supply.

    Attributes:
        volts: its set voltage.
        limit_a: current at which it stops holding the voltage; infinite when it never does.
        recovery_s: time its output takes to climb from nothing to `volts` once the limit lets go.
        c_out_f: capacitance across its output, which gives current beyond the limit until it has run down.
    """

    volts: float
    limit_a: float = math.inf
    recovery_s: float = 0.0
    c_out_f: float = OUTPUT_CAPACITANCE_F


@dataclass(frozen=True, slots=True)
class Suppressor:
    """What takes the coil's energy when the switch opens.

    Attributes:
        kind: which.
        r_ohm: resistance of diode + r or rc; slope resistance of a zener.
        volts: clamping voltage of a zener or TVS, all of it (a diode in series with it included).
        c_f: capacitance of rc.
        drop_v: forward drop of the diode.
        across_contact: True when it lies across the switch instead of the coil (zener and rc only).
    """

    kind: Kind = Kind.NONE
    r_ohm: float = 0.0
    volts: float = 0.0
    c_f: float = 0.0
    drop_v: float = DIODE_DROP_V
    across_contact: bool = False

    def clamp_v(self, breakdown_v: float) -> float:
        """Return the voltage above which it conducts (without meaning for rc)."""
        return {Kind.NONE: breakdown_v, Kind.ZENER: self.volts}.get(self.kind, self.drop_v)

    @property
    def on_contact(self) -> bool:
        """Return whether the current on break flows beside the switch."""
        return self.kind is Kind.NONE or self.across_contact

    def __str__(self) -> str:
        """Name it as a restorer would."""
        place = " across the contact" if self.across_contact else ""
        words = {
            Kind.NONE: "no suppressor",
            Kind.DIODE: "diode",
            Kind.DIODE_R: f"diode + {self.r_ohm:.4g} ohm",
            Kind.ZENER: f"{self.volts:.4g} V zener" + ("" if self.across_contact else " with its blocking diode"),
            Kind.RC: f"{self.r_ohm:.4g} ohm + {self.c_f * 1e6:.4g} uF",
        }
        return words[self.kind] + place


@dataclass(frozen=True, slots=True)
class Drive:
    """All of it together.

    Attributes:
        coil: the magnet.
        supply: what feeds it.
        series_ohm: the resistor in series.
        suppressor: what takes the energy on break.
        breakdown_v: voltage at which the open switch breaks down (air at its weakest, or the transistor's rating).
        high_side: True when the switch is on the positive side of the coil.
    """

    coil: Coil
    supply: Supply
    series_ohm: float = 0.0
    suppressor: Suppressor = Suppressor()
    breakdown_v: float = LOWEST_BREAKDOWN_V.value
    high_side: bool = False

    @property
    def loop_ohm(self) -> float:
        """Resistance of the closed loop."""
        return self.coil.r_ohm + self.series_ohm

    @property
    def unlimited_a(self) -> float:
        """Steady current if the supply never limited it."""
        return self.supply.volts / self.loop_ohm

    @property
    def steady_a(self) -> float:
        """Steady current with the switch closed for ever."""
        return min(self.unlimited_a, self.supply.limit_a)

    @property
    def tau_s(self) -> float:
        """Time constant of the closed loop, L / (R + Rs)."""
        return self.coil.l_h / self.loop_ohm

    @property
    def energy_j(self) -> float:
        """Energy stored at the steady current, L I^2 / 2."""
        return self.coil.l_h * self.steady_a**2 / 2
