"""Army subcourse SS0713: shock currents in words."""

from tapewright.number import Source, Standing
from tapewright.reference.figure import Figure

_SOURCE = Source("Army subcourse SS0713", "electric shock", Standing.PUBLISHED)

UNPLEASANT_A = Figure(0.005, "A", _SOURCE)
SHOCK_A = Figure(0.015, "A", _SOURCE)
MAY_KILL_A = Figure(0.070, "A", _SOURCE)
