"""The parts a search tries: resistors and suppressors in the steps they are sold in (E12, from memory)."""

import numpy as np
import numpy.typing as npt

from tapewright.core.magnet.drive import Drive, Kind, Suppressor

E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)
ZENERS_V = (12.0, 15.0, 18.0, 22.0, 27.0, 33.0, 39.0, 47.0, 56.0, 68.0, 82.0, 100.0, 120.0, 150.0, 180.0, 200.0)
#: rc values: resistance in ohm, capacitance in farad
RC_OHM, RC_F = (47.0, 100.0, 220.0, 470.0), (0.047e-6, 0.1e-6, 0.22e-6, 0.47e-6, 1e-6, 2.2e-6)


def usual_suppressors(drive: Drive) -> tuple[Suppressor, ...]:
    """Give one hundred suppressors or so: every kind, in the steps they are sold in."""
    parts = [Suppressor(Kind.NONE), Suppressor(Kind.DIODE)]
    parts += [Suppressor(Kind.DIODE_R, step * power) for power in (10.0, 100.0, 1000.0) for step in E12]
    parts += [Suppressor(Kind.ZENER, volts=volts) for volts in ZENERS_V]
    parts += [
        Suppressor(Kind.ZENER, volts=volts, across_contact=True)
        for volts in (*ZENERS_V, 220.0, 250.0, 300.0, 400.0)
        if volts > 1.1 * drive.supply.volts
    ]
    parts += [
        Suppressor(Kind.RC, r, c_f=c, across_contact=contact) for contact in (True, False) for r in RC_OHM for c in RC_F
    ]
    return tuple(parts)


def resistors_between(drive: Drive, low_ohm: float, high_ohm: float, count: int) -> npt.NDArray[np.float64]:
    """Give resistors, evenly spaced in their logarithm, from `low_ohm` (a tenth of the coil's when 0) to `high_ohm`."""
    low = max(low_ohm, 0.1 * drive.coil.r_ohm)
    return np.geomspace(low, max(high_ohm, 1.01 * low), count)
