"""Speed classes and the arithmetic of speeds.

Formulas: unit T = 1/B; operations a minute = 60 B / U; words a minute = operations / 6 (five letters and a space);
dot frequency = B/2, with B in baud and U units in a character. Seen in a published worked example (Army subcourse
SS0330: 6 x 22 + 31 = 163 ms, 61.3 words a minute, 368 operations a minute); the rest derived.
"""

from dataclasses import dataclass

#: Usual modulation rates of five-unit machines, baud. 45.45, 50, 75, 100: Navy ET vol 3 (NAVEDTRA 14088) p. 2-16;
#: 74.2: Army subcourse SS0330; 56.88 derived from "75 words a minute" at 7.42 units; 110 is an eight-level rate.
CLASSES: tuple[float, ...] = (1 / 0.022, 50.0, 56.88, 74.2, 75.0, 100.0, 110.0)
CHARACTERS_PER_WORD = 6
#: Stop lengths in use, units (NEETS module 17, NAVEDTRA 14189, p. 3-18; 1.42 is the standard there, 1.5 the ITU's).
STOPS_UNITS: tuple[float, ...] = (1.0, 1.27, 1.42, 1.5, 1.96, 2.0)
#: Classes whose machines usually stop for 1.42 units (the same page calls it "standard"), and how near counts as one.
SHORT_STOP_BAUD, SAME_BAUD = (1 / 0.022, 56.88, 74.2), 0.06
SHORT_STOP_UNITS, LONG_STOP_UNITS = 1.42, 1.5


@dataclass(frozen=True, slots=True)
class Speed:
    """A speed class with its arithmetic.

    Attributes:
        baud: modulation rate.
        units: length of a character in units, start and stop included.
    """

    baud: float
    units: float

    @property
    def unit_ms(self) -> float:
        """Length of the unit."""
        return 1000.0 / self.baud

    @property
    def character_ms(self) -> float:
        """Length of a character at full speed."""
        return self.units * self.unit_ms

    @property
    def operations_per_minute(self) -> float:
        """Characters a minute at full speed."""
        return 60_000.0 / self.character_ms

    @property
    def words_per_minute(self) -> float:
        """Words of six characters a minute."""
        return self.operations_per_minute / CHARACTERS_PER_WORD


def usual_stop_units(baud: float) -> float:
    """Return the stop a machine of this rate usually has, in units: 1.42 where that is standard, else the ITU's 1.5."""
    return SHORT_STOP_UNITS if any(abs(baud - known) < SAME_BAUD for known in SHORT_STOP_BAUD) else LONG_STOP_UNITS
