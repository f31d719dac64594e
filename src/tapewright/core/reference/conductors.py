"""How copper's resistance grows with temperature."""

from tapewright.core.measurement import Source, Standing
from tapewright.core.reference.figure import Figure

#: Temperature coefficient of the resistance of copper near 20 degrees Celsius.
COPPER_PER_KELVIN = Figure(0.0039, "1/K", Source("temperature coefficient of copper", "", Standing.MEMORY))
