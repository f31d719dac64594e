"""The lowest voltage at which air breaks down, whatever the gap (the minimum of Paschen's curve)."""

from tapewright.number import Source, Standing
from tapewright.reference.figure import Figure

LOWEST_BREAKDOWN_V = Figure(327.0, "V", Source("minimum of Paschen's curve in air", "", Standing.MEMORY))
