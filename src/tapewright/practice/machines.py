"""The two machines of the harbour museum at Skerry Point, as the practice machine plays them.

Both are invented, and so are their faults. *Heron* is in order. *Petrel* runs one per cent slow, its contact 3
closes late, and its contacts bounce.
"""

from dataclasses import replace

from tapewright.practice.contacts import Contact
from tapewright.practice.motor import Motor
from tapewright.practice.transmitter import Transmitter

UNIT_45_S = 0.022

#: contacts of a machine that was never perfect: make a little before their neighbour breaks, small scatter
_FAIR = Contact(
    opening_late_s=0.25e-3, closing_scatter_s=0.03e-3, opening_scatter_s=0.03e-3, bounce_s=0.3e-3, bounces=2
)
_TRIMMED = (0.05e-3, -0.08e-3, 0.02e-3, 0.04e-3, -0.03e-3)

HERON = Transmitter(
    motor=Motor(UNIT_45_S, hunt=0.0005, hunt_hz=0.9),
    contacts=tuple(replace(_FAIR, closing_late_s=late) for late in _TRIMMED),
    stop=_FAIR,
    stop_units=1.42,
)

_PETREL_LATE = (0.05e-3, -0.08e-3, 1.52e-3, 0.04e-3, -0.03e-3)
_PETREL_BOUNCE = (0.6e-3, 0.5e-3, 1.2e-3, 0.5e-3, 0.6e-3)

PETREL = Transmitter(
    motor=Motor(UNIT_45_S / 0.99, hunt=0.001, hunt_hz=0.9),
    contacts=tuple(
        replace(_FAIR, closing_late_s=late, bounce_s=bounce, bounces=3)
        for late, bounce in zip(_PETREL_LATE, _PETREL_BOUNCE, strict=True)
    ),
    stop=replace(_FAIR, bounce_s=0.4e-3),
    stop_units=1.42,
)

MACHINES: dict[str, Transmitter] = {"heron": HERON, "petrel": PETREL}


def at_unit(machine: Transmitter, unit_s: float) -> Transmitter:
    """Return the same machine geared for another unit: what is nominally 22 ms becomes `unit_s`, faults in ms stay."""
    return replace(machine, motor=replace(machine.motor, unit_s=machine.motor.unit_s * unit_s / UNIT_45_S))
