"""NAVEDTRA 14097: what current and voltage do to a person."""

from tapewright.number import Source, Standing
from tapewright.reference.figure import Figure

_SOURCE = Source("NAVEDTRA 14097", "electric shock", Standing.PUBLISHED)

#: Direct current that a person can still let go of: men, women.
LET_GO_DC_MEN_A = Figure(0.062, "A", _SOURCE)
LET_GO_DC_WOMEN_A = Figure(0.041, "A", _SOURCE)
#: Lowest voltage a death is recorded from.
LOWEST_FATAL_V = Figure(30.0, "V", _SOURCE)
#: Resistance the body may fall to.
BODY_OHM = Figure(300.0, "ohm", _SOURCE)
