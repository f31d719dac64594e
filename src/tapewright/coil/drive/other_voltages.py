"""Low against high voltage: the same coil, the same current, the same pull and the same heat in the coil."""

from dataclasses import replace

from tapewright.coil.armature import break_, make
from tapewright.coil.document import Alternative, OtherVoltages
from tapewright.coil.drive.drive import Drive

#: voltages found on benches and loops
BENCH_V = (12.0, 24.0, 48.0, 80.0, 120.0, 170.0)

WHY = (
    "Same current, so same pull, same L I^2 / 2 and same heat in the coil at the same duty. What the volts change is "
    "how soon the current is there: the time constant is L / (R + Rs) = L I / V, so ten times the volts rise ten "
    "times sooner. The price is heat in the resistor, and a loop that bites."
)


def at_other_voltages(drive: Drive, unit_s: float) -> OtherVoltages:
    """Return the drive at its own and at other voltages, each with the resistor for the same current."""
    current = drive.steady_a
    least = current * drive.coil.r_ohm
    every = sorted({drive.supply.volts, *(v for v in BENCH_V if v >= least)})
    return OtherVoltages(why=WHY, at=tuple(_at(drive, volts, current, unit_s) for volts in every))


def _at(drive: Drive, volts: float, current: float, unit_s: float) -> Alternative:
    own = volts == drive.supply.volts
    series = drive.series_ohm if own else max(0.0, volts / current - drive.coil.r_ohm)
    supply = drive.supply if own else replace(drive.supply, volts=volts, limit_a=float("inf"))
    part = drive.suppressor
    changed = replace(drive, series_ohm=series, supply=supply)
    clamps = part.on_contact and part.clamp_v(drive.breakdown_v) <= volts
    operate = make(changed)[0]
    release = None if clamps and part.c_f == 0 else break_(changed)[0]
    both = operate is not None and release is not None
    bias = ((release or 0.0) - (operate or 0.0)) / unit_s * 100 if both else None
    return Alternative(
        volts=volts,
        series_ohm=series,
        tau_ms=changed.tau_s * 1e3,
        operate_ms=None if operate is None else operate * 1e3,
        release_ms=None if release is None else release * 1e3,
        added_bias_percent=bias,
        coil_w=drive.coil.r_ohm * current**2,
        resistor_w=series * current**2,
    )
