r"""How strongly a measured value with its doubt speaks for a finding.

Picture:

    value +- u, counts as found beyond a mark:

        absent      ?      present             P(beyond) = Phi((value - mark) / u)
    -------------[--|--]------------->
                   mark                        likelihoods: P(beyond) if present, 1 - P(beyond) if absent

A value far from the mark on either side is as good as seen or not seen; one that straddles it says little.
"""

import math

from tapewright.core.diagnosis.evidence import Answer
from tapewright.core.diagnosis.measured.fields import Figure

#: Beyond this it counts as surely present or absent (2.6 standard uncertainties).
SURE = 0.995
#: Uncertainty taken for a figure that states none: this share of the mark (common practice, no source).
UNSTATED_SHARE = 0.25


def beyond(finding: str, figure: Figure, mark: float, how: str, *, above: bool, at: str = "") -> Answer:
    """Give the answer for "the figure is above (or below) the mark"."""
    u = figure.u if figure.u is not None else UNSTATED_SHARE * abs(mark)
    distance = figure.value - mark if above else mark - figure.value
    return weighed(finding, phi(distance / u) if u > 0 else float(distance > 0), how, at=at)


def weighed(finding: str, chance: float, how: str, *, at: str = "") -> Answer:
    """Give the answer for a finding that is there with this chance, as far as the measurement alone goes."""
    if chance >= SURE:
        return Answer(finding, 1.0, 0.0, how, at)
    if chance <= 1.0 - SURE:
        return Answer(finding, 0.0, 1.0, how)
    return Answer(finding, chance, 1.0 - chance, how, at)


def phi(z: float) -> float:
    """Give the share of a normal distribution below z standard deviations."""
    return 0.5 * (1.0 + math.erf(z / math.sqrt(2.0)))
