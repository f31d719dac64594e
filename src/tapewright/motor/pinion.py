r"""Which pinion another mains frequency or another speed needs: whole teeth, and what is left over.

The stage has z1 teeth on the pinion (driver) and z2 on the gear. The wanted ratio is factor x z1 / z2:

    factor = (new baud / old baud) x (old motor speed / new motor speed)

The new pair has whole teeth; what is left over is the residual, new ratio / wanted ratio - 1, exact. Wheels of module
m lie (z1 + z2) m / 2 apart: a pair with the same sum of teeth fits the same centres, another needs the motor moved.
A pinion of under 2 / sin^2 20 deg = 17.1 teeth is undercut if its profile is not shifted (standard involute gear
geometry, formula from memory).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from tapewright.number import Limit, Reading, Verdict, judge

#: fewest teeth of a 20 degree involute pinion without undercut; from memory
NOT_UNDERCUT = 17
#: a pair is worth looking at when it comes this near
NEAR = Fraction(5, 100)
#: wheels of more teeth are not looked for, unless the pair has them already
MOST_TEETH = 400
SHOWN = 3
PINION_ALONE, SAME_CENTRES, ANY_PAIR = "pinion alone", "same centres", "any pair"


@dataclass(frozen=True, slots=True)
class Pair:
    """A pinion and a gear that come near to the wanted ratio.

    Attributes:
        way: "pinion alone", "same centres" or "any pair".
        pinion: teeth of the driver.
        gear: teeth of the driven wheel.
        residual: new ratio / wanted ratio - 1; positive runs fast.
        apart_modules: how much farther apart the wheels lie than now, in modules (negative: nearer).
    """

    way: str
    pinion: int
    gear: int
    residual: Fraction
    apart_modules: Fraction

    @property
    def undercut(self) -> bool:
        """Return whether the pinion has too few teeth for a plain 20 degree profile."""
        return min(self.pinion, self.gear) < NOT_UNDERCUT


def pairs(pinion: int, gear: int, factor: Fraction, *, spread: int = 8) -> tuple[Pair, ...]:
    """Return the nearest pairs of each way, the best first; at most three a way.

    Args:
        pinion: teeth of the driver now, above 0.
        gear: teeth of the driven wheel now, above 0.
        factor: how many times faster the stage has to be.
        spread: how many teeth more or fewer the gear of "any pair" may have.
    """
    wanted = Fraction(pinion, gear) * factor
    together = pinion + gear
    by_way: dict[str, Iterable[tuple[int, int]]] = {
        PINION_ALONE: ((z, gear) for z in _around(wanted * gear)),
        SAME_CENTRES: ((z, together - z) for z in _around(wanted * together / (1 + wanted)) if z < together),
        ANY_PAIR: ((z, g) for g in range(max(1, gear - spread), gear + spread + 1) for z in _around(wanted * g)),
    }
    found: list[Pair] = []
    for way, candidates in by_way.items():
        new = [Pair(way, z, g, Fraction(z, g) / wanted - 1, Fraction(z + g - together, 2)) for z, g in candidates]
        near = [p for p in new if abs(p.residual) <= NEAR and (p.pinion, p.gear) not in _teeth(found)]
        near = [p for p in near if max(p.pinion, p.gear) <= max(MOST_TEETH, pinion, gear)]
        found += sorted(near, key=lambda p: (abs(p.residual), abs(p.apart_modules)))[:SHOWN]
    return tuple(found)


def _around(teeth: Fraction) -> range:
    """Return the whole numbers of teeth beside a fraction, from 1 on."""
    below = int(teeth)
    return range(max(1, below - 1), max(2, below + 3))


def _teeth(found: list[Pair]) -> set[tuple[int, int]]:
    return {(p.pinion, p.gear) for p in found}


def judge_pairs(found: Iterable[Pair], limit: Limit) -> list[tuple[Pair, Verdict]]:
    """Judge what each pair leaves over, as a speed error in per cent; it is exact."""
    return [(p, judge(Reading(float(100 * p.residual), 0.0, "percent"), limit)) for p in found]
