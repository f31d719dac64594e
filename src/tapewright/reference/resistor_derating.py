"""How far a resistor is loaded: to half its rating."""

from tapewright.number import Source, Standing
from tapewright.reference.figure import Figure

USED_FRACTION = Figure(0.5, "1", Source("use 50 percent of a resistor's rating", "", Standing.MEMORY))
#: Ratings resistors are sold in, W. Common practice, no source.
SOLD_W = (0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0, 200.0, 300.0)
