"""How copper's resistance grows with temperature."""

from tapewright.number import Source, Standing
from tapewright.reference.figure import Figure

#: Temperature coefficient of the resistance of copper near 20 degrees Celsius.
COPPER_PER_KELVIN = Figure(0.0039, "1/K", Source("temperature coefficient of copper", "", Standing.MEMORY))
