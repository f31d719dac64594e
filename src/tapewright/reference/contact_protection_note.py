"""Two rules for the capacitor of an RC network across a contact (a general component note, maker left out).

The contact stays below 300 V while the coil's energy goes into C:  L I^2 / 2 = C V^2 / 2  gives  C > (I / 300)^2 L.
The voltage rises slower than the contacts part, 1 V / us:          dV/dt = I / C          gives  C > I x 1e-6.
"""

from tapewright.number import Source, Standing
from tapewright.reference.figure import Figure

_SOURCE = Source("general RC network component note", "arc suppression", Standing.PUBLISHED)
CONTACT_V = Figure(300.0, "V", _SOURCE)
RISE_V_PER_S = Figure(1e6, "V/s", _SOURCE)


def smallest_capacitance_f(current_a: float, inductance_h: float) -> tuple[float, float]:
    """Return the capacitance the 300 V rule asks for, and the one the 1 V/us rule asks for, in farad."""
    return (current_a / CONTACT_V.value) ** 2 * inductance_h, current_a / RISE_V_PER_S.value
