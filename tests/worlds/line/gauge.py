r"""What the error of a contact means, and which part of it a recorded line can show.

Picture (boundaries k of one character, sent at the true unit T):

    k =  0      1      2      3      4      5      6
    ~~~~~|______|~~~~~~|______|~~~~~~|~~~~~~|______|~~~~~     stop, start, elements 1 0 1 1 0, stop
       opens  closes opens  closes        opens  closes
       stop     1      1      3    (3|4)    4     stop        the contact that makes the instant

Raw lateness (ms, + = late): instant minus the place where the shaft, turning at the mean speed of the recording, has
turned k units since its start. Raw closing of contact k lies at boundary k, of the stop contact at 6; raw opening of
contact k at boundary k + 1; the opening of the stop contact (boundary 0) is the start instant. Contact 5's opening
falls together with the stop's closing and is never seen alone.

A line shows only instants after its own start instant, and it knows neither the shaft nor its unit otherwise. So of
the ten latenesses that can be seen (six closings at 1..6, four openings at 2..5) relative to the start,

    seen = raw - raw start = common (closing) or common (opening) + slope * k + own lateness,

the two commons and the slope belong to the start contact, to the bias and to the unit. The own lateness of the
contacts is what remains by least squares, each of the contacts seen counting once: within each direction it has zero
mean, and over k it has zero slope. Both directions have mean k = 3.5 when all ten are seen. From the commons, by
these definitions:

    bias          opening common - closing common: how much longer marks are than spaces should let them (+ = marking);
    by direction  half of it each: closings early by half the bias, openings late by half;
    start_late    -(closing common + opening common) / 2: the start instant is that much late against the middle of
                  both directions;
    end           opening common: where mark-to-space instants lie against the start, which is one of them
                  (+ = marking end);
    marking bias in the start-stop frame of FED-STD-1037C (the start taken as right): -(closing common).
    line unit     T + slope: the unit in which the contacts have no slope. The width of a mark, T + opening - closing,
                  is the same in every gauge.

The decomposition and its two constraints are this project's own (design, section 3); signs of bias and of end
distortion follow FED-STD-1037C.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
CLOSING_K = np.array([1, 2, 3, 4, 5, 6])
OPENING_K = np.array([2, 3, 4, 5, 6])


@dataclass(frozen=True, eq=False)
class Lateness:
    """Lateness of every contact in ms.

    Attributes:
        closing_ms: shape (6,), contacts 1 to 5 and the stop contact.
        opening_ms: shape (5,), contacts 1 to 5; the fifth only shows where marks are split.
    """

    closing_ms: Floats
    opening_ms: Floats

    def __add__(self, other: "Lateness") -> "Lateness":
        return Lateness(self.closing_ms + other.closing_ms, self.opening_ms + other.opening_ms)

    def mark_widths_ms(self, unit_ms: float) -> Floats:
        """Return the width of a mark of one element for contacts 1 to 5, ms, when the unit is `unit_ms`."""
        return unit_ms + self.opening_ms - self.closing_ms[:5]


@dataclass(frozen=True, eq=False)
class GaugeFixed:
    """Latenesses as a line can show them.

    Attributes:
        own: what remains of each contact; zero mean in each direction and zero slope over k (of the contacts that
            were seen).
        closing_common_ms: lateness that all closings share, relative to the start instant, at k = 0.
        opening_common_ms: the same of the openings.
        slope_ms: ms for each k, to be added to the shaft's unit.
        turn_ms: what was put down to once-a-turn harmonics, where these were asked for; else nought.
    """

    own: Lateness
    closing_common_ms: float
    opening_common_ms: float
    slope_ms: float
    turn_ms: Lateness

    @property
    def bias_ms(self) -> float:
        """How much longer a mark is than its elements."""
        return self.opening_common_ms - self.closing_common_ms

    @property
    def start_late_ms(self) -> float:
        """How late the start instant is against the middle of both directions."""
        return -(self.closing_common_ms + self.opening_common_ms) / 2

    @property
    def end_ms(self) -> float:
        """How late openings are against the start instant."""
        return self.opening_common_ms


def fix_gauge(
    raw: Lateness,
    start_ms: float,
    *,
    seen: NDArray[np.bool_] | None = None,
    by_direction: bool = True,
    harmonics: int = 0,
    character_units: float = 7.5,
) -> GaugeFixed:
    """Take from the raw latenesses what a line cannot tell from start, bias and unit.

    Args:
        raw: latenesses against the shaft, ms.
        start_ms: lateness of the start instant against the shaft, ms.
        seen: shape (10,), which of six closings and four openings take part in the fit; all when left out.
        by_direction: one common for each direction; False: one for both, so that the bias stays in the contacts.
        harmonics: how many harmonics of the shaft's turn are taken out as well.
        character_units: length of the turn, where harmonics are asked for.
    """
    k = np.concatenate([CLOSING_K, OPENING_K]).astype(float)
    opens = np.arange(11) > 5
    columns = [~opens, opens] if by_direction else [np.ones(11)]
    columns = [*columns, k]
    for h in range(1, harmonics + 1):
        angle = 2 * np.pi * h * k / character_units
        columns += [np.cos(angle), np.sin(angle)]
    design = np.array(columns, dtype=float).T
    values = np.concatenate([raw.closing_ms, raw.opening_ms]) - start_ms
    fitted = np.concatenate([np.ones(10, bool) if seen is None else seen, [False]])
    terms = np.linalg.lstsq(design[fitted], values[fitted], rcond=None)[0]
    own = values - design @ terms
    directions = 2 if by_direction else 1
    turn = design[:, directions + 1 :] @ terms[directions + 1 :]
    return GaugeFixed(
        own=Lateness(own[:6], own[6:]),
        closing_common_ms=float(terms[0]),
        opening_common_ms=float(terms[directions - 1]),
        slope_ms=float(terms[directions]),
        turn_ms=Lateness(turn[:6], turn[6:]),
    )
