r"""How late each contact was in this character, and in its last twenty: a needle with its band.

Picture (one ruler a contact; the band holds the middle 95 % of the last 20):

    contact 3 closing      -2 . . . . 0 . . . . +2 ms
                                        [==|==]
                                    the needle, in its band

Late by what: where a sound contact would be, from the last characters: the unit, and what all closings (or all
openings) have in common. So a motor off its speed or bias in the loop moves no needle; a screw does.
"""

from collections import deque
from dataclasses import dataclass

import numpy as np

from tapewright.line.live.settling import Settled

BAND_OF = 20
#: below this many a band is no band
FEWEST_IN_BAND = 3
#: share of the band's instants left out at each end
LEFT_OUT = 0.025

#: (contact, closing): contact 1 to n, n + 1 the stop
Key = tuple[int, bool]


@dataclass(frozen=True, slots=True)
class Expected:
    """Where sound contacts would be.

    Attributes:
        unit_s: the unit.
        closings_s: what all closings have in common, late positive.
        openings_s: what all openings have in common.
    """

    unit_s: float
    closings_s: float
    openings_s: float


@dataclass(frozen=True, slots=True)
class Needle:
    """One contact in one character.

    Attributes:
        contact: 1 to n; n + 1 is the stop contact.
        closing: True when it closed, False when it opened.
        late_ms: how late, early negative.
        u_ms: standard uncertainty of this one instant from the instrument.
        bounce_ms: from first to last edge; 0 for one clean edge.
        band_low_ms: lower end of the band; None while there are too few.
        band_high_ms: upper end.
        mean_ms: mean of the band's instants.
        n: how many they are.
    """

    contact: int
    closing: bool
    late_ms: float
    u_ms: float
    bounce_ms: float
    band_low_ms: float | None
    band_high_ms: float | None
    mean_ms: float
    n: int


class Bands:
    """The last twenty instants of each contact."""

    def __init__(self) -> None:
        self._last: dict[Key, deque[float]] = {}

    def take(self, character: Settled, expected: Expected) -> tuple[Needle, ...]:
        """Take a character in; give its needles, contacts in order, closing before opening."""
        out = []
        for k, to_mark, elapsed_s, u_s, bounce_s, chatter in zip(
            character.boundary.tolist(),
            character.to_mark.tolist(),
            character.elapsed_s.tolist(),
            character.u_s.tolist(),
            character.bounce_s.tolist(),
            character.chatter.tolist(),
            strict=True,
        ):
            contact = k if to_mark else k - 1
            if chatter or contact < 1:
                continue
            common_s = expected.closings_s if to_mark else expected.openings_s
            late_ms = 1e3 * (elapsed_s - k * expected.unit_s - common_s)
            out.append(self._needle((contact, to_mark), late_ms, 1e3 * u_s, 1e3 * bounce_s))
        return tuple(sorted(out, key=lambda n: (n.contact, not n.closing)))

    def forget(self) -> None:
        """Begin anew, as after a screw was turned."""
        self._last.clear()

    def _needle(self, key: Key, late_ms: float, u_ms: float, bounce_ms: float) -> Needle:
        band = self._last.setdefault(key, deque(maxlen=BAND_OF))
        band.append(late_ms)
        low = high = None
        if len(band) >= FEWEST_IN_BAND:
            low, high = np.quantile(band, [LEFT_OUT, 1 - LEFT_OUT]).tolist()
        mean = sum(band) / len(band)
        return Needle(key[0], key[1], late_ms, u_ms, bounce_ms, low, high, mean, len(band))
