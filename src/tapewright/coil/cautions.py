"""What to mind, before any number is shown. Generic wording; local codes and licensed practice rule."""

from collections.abc import Callable
from dataclasses import dataclass

from tapewright.coil.document import Powers
from tapewright.coil.drive.drive import Drive, Kind
from tapewright.coil.stream import StreamResult
from tapewright.reference.army_subcourse_ss0713 import MAY_KILL_A, SHOCK_A
from tapewright.reference.navedtra_14097 import BODY_OHM, LET_GO_DC_MEN_A, LET_GO_DC_WOMEN_A, LOWEST_FATAL_V

#: Surface that burns skin is reached early: a resistor above this is hot to touch. Common practice, no source.
HOT_RESISTOR_W = 1.0
#: A kick is felt through the fingers from about here. Common practice, no source.
FELT_J = 1e-3

GENERAL = (
    "Follow your local electrical code; what it reserves to a licensed person is theirs to do. "
    "These figures are computed, they do not prove a circuit harmless."
)


#: before a current is recorded
READ_CAUTIONS = (
    "Measure across a resistor in the earthed side, or with a probe made for it: a ground clip on a floating loop "
    "earths one side through the instrument.",
    "Opening the coil kicks far above the supply: suppressor first, supply last, current limit low.",
)


@dataclass(frozen=True, slots=True)
class Situation:
    """What the cautions look at.

    Attributes:
        drive: the drive.
        heat: its powers.
        peak_v: highest voltage across the switch.
        missed: marks and spaces the armature does not follow.
    """

    drive: Drive
    heat: Powers
    peak_v: float
    missed: int


def _through_body(s: Situation) -> str:
    volts = s.drive.supply.volts
    body_ma = volts / BODY_OHM.value * 1e3
    return (
        f"{volts:g} V can kill: deaths are recorded from {LOWEST_FATAL_V.value:g} V, and a body of "
        f"{BODY_OHM.value:g} ohm would take {body_ma:.0f} mA ({LOWEST_FATAL_V.source}); "
        f"{MAY_KILL_A.value * 1e3:g} mA through the heart may kill ({MAY_KILL_A.source}). "
        "Switch off, prove it dead, then touch. Keep a second person there who can cut the power."
    )


def _let_go(s: Situation) -> str:
    return (
        f"{s.drive.steady_a * 1e3:.0f} mA is at or above what people can let go of with direct current "
        f"({LET_GO_DC_WOMEN_A.value * 1e3:g} mA women, {LET_GO_DC_MEN_A.value * 1e3:g} mA men; "
        f"{LET_GO_DC_MEN_A.source}); from {SHOCK_A.value * 1e3:g} mA a shock is to be expected ({SHOCK_A.source})."
    )


def _kick(s: Situation) -> str:
    return (
        f"Opening the coil kicks: {s.drive.energy_j * 1e3:.3g} mJ, {s.peak_v:.0f} V across the switch. "
        "Never open the circuit by pulling a wire in your fingers; fit the suppressor before the supply."
    )


#: (when it applies, what to say), most dangerous first
CAUTIONS: tuple[tuple[Callable[[Situation], bool], Callable[[Situation], str]], ...] = (
    (lambda s: s.drive.supply.volts >= LOWEST_FATAL_V.value, _through_body),
    (lambda s: s.drive.steady_a >= LET_GO_DC_WOMEN_A.value and s.peak_v >= LOWEST_FATAL_V.value, _let_go),
    (lambda s: s.drive.energy_j >= FELT_J or s.peak_v >= 2 * s.drive.supply.volts, _kick),
    (
        lambda s: s.drive.suppressor.kind is Kind.NONE,
        lambda s: "Without a suppressor the contact arcs at every break and the winding's insulation takes the peak; "
        "the figure below is only where air begins to break down.",
    ),
    (
        lambda s: s.drive.suppressor.kind is Kind.ZENER and not s.drive.suppressor.across_contact,
        lambda s: "The zener needs its blocking diode in series, their bands looking away from each other: alone "
        "across the coil it is a plain diode one way round and a short circuit of the supply the other.",
    ),
    (
        lambda s: s.drive.suppressor.kind in (Kind.DIODE, Kind.DIODE_R),
        lambda s: "The diode's band looks at plus: the other way round it shorts the supply at the first mark.",
    ),
    (
        lambda s: s.peak_v >= LOWEST_FATAL_V.value,
        lambda s: "No ground clip of a probe on a floating loop: it earths one side through the instrument. "
        "Use a differential probe, or measure across a resistor on the earthed side only.",
    ),
    (
        lambda s: s.drive.supply.c_out_f > 0 and s.drive.supply.volts >= LOWEST_FATAL_V.value,
        lambda s: "The supply's and the suppressor's capacitors keep their charge: discharge them through a "
        "resistor with an insulated probe, then measure, before touching.",
    ),
    (
        lambda s: s.drive.supply.volts >= LOWEST_FATAL_V.value,
        lambda s: "Start with the supply's current limit set low and raise it while you watch; meter first, "
        "live circuit last, because the free end of a plug carries the full voltage.",
    ),
    (
        lambda s: not s.drive.high_side and s.drive.supply.volts >= LOWEST_FATAL_V.value,
        lambda s: "With the switch on the low side the whole coil stands at the supply's voltage while it is off.",
    ),
    (
        lambda s: s.heat.resistor.held_w >= HOT_RESISTOR_W,
        lambda s: f"The series resistor turns {s.heat.resistor.held_w:.3g} W into heat as long as the line rests in "
        "mark: stand it off wood, paper and wire, out of reach; keep an extinguisher for live equipment at hand.",
    ),
    (
        lambda s: s.heat.coil.held_w >= HOT_RESISTOR_W,
        lambda s: f"The coil takes {s.heat.coil.held_w:.3g} W when held: a coil made for pulses cooks. Do not hold it "
        "longer than its manual allows; stop when a finger cannot stay on it (power off before you touch).",
    ),
    (
        lambda s: s.drive.unlimited_a > s.drive.supply.limit_a,
        lambda s: "The supply runs into its current limit at every mark; its output capacitor and its recovery then "
        "shape the current, and the instants are no longer the machine's. Raise the limit or the resistor.",
    ),
    (lambda s: True, lambda s: GENERAL),
)


def cautions_for(drive: Drive, heat: Powers, peak_v: float, stream: StreamResult) -> tuple[str, ...]:
    """Return the cautions that apply, most dangerous first."""
    situation = Situation(drive, heat, peak_v, stream.missed_marks + stream.missed_spaces)
    return tuple(say(situation) for applies, say in CAUTIONS if applies(situation))
