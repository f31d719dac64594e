"""How far a time taken by hand with a stopwatch may be out, start and stop together.

"Manual timing in physics experiments: Error and uncertainty", American Journal of Physics 87 (2019) p. 110,
abstract: 4304 reaction times; start and stop together follow N(0, 0.10^2) in seconds.
"""

from tapewright.number import Source, Standing
from tapewright.reference.figure import Figure

STOPWATCH_U_S = Figure(
    0.10, "s", Source("Manual timing in physics experiments, Am. J. Phys. 87 (2019)", "abstract", Standing.PUBLISHED)
)
