"""How many clean characters a claim takes: exactly, and by the rule of three.

    none wrong in n shows at 95 % that fewer than p are wrong, when (1 - p)^n <= 0.05

    n = ln(0.05) / ln(1 - p), rounded up         about 3/p, since ln(0.05) = -2.996

One-sided Clopper-Pearson bound with nothing wrong (see message/rate.py); the rule of three: J. A. Hanley,
A. Lippman-Hand, "If nothing goes wrong, is everything all right?", JAMA 249 (1983), from memory. Both take the
characters as independent of each other.
"""

import math
from typing import Annotated

from tapewright.furniture.document import Document, told
from tapewright.message.rate import characters_to_show

#: "fewer than 1 wrong in so many characters"
USUAL_CLAIMS: tuple[int, ...] = (100, 300, 1_000, 3_000, 10_000)
WANTED_ONE_IN = 1_000


class Claim(Document, frozen=True):
    """What one claim takes."""

    one_in: Annotated[int, told("The claim: fewer than 1 wrong in this many characters, at 95 % confidence.")]
    clean_characters: Annotated[int, told("How many without a single wrong one show it.")]
    rule_of_three: Annotated[int, told("The quick figure, 3 times one_in.")]
    seconds: Annotated[float, told("Time at the machine's speed.")]
    tape_m: Annotated[float, told("Tape length at the machine's feed pitch.")]


def claim(one_in: int, character_s: float, pitch_mm: float) -> Claim:
    """Work out one claim.

    Raises:
        ValueError: unless `one_in` is at least 2.
    """
    n = characters_to_show(1 / one_in)
    return Claim(one_in, n, 3 * one_in, n * character_s, n * pitch_mm / 1e3)


def shown_one_in(upper: float) -> int:
    """Return N of "fewer than 1 in N" for an upper bound, rounded down so that it never claims more than is shown."""
    return max(1, math.floor(1 / upper + 1e-9)) if upper > 0 else 1
