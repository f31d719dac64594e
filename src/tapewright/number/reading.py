"""A reading: a value that never travels without its unit and its doubt."""

import math

from tapewright.number.fixed import Fixed

#: Coverage factor of the expanded uncertainty U = k u, about 95 % (JCGM 100:2008, 6.2; ISO 14253-1).
COVERAGE_FACTOR = 2.0
#: A doubt smaller than this is nobody's concern at a bench; it is written as "<0.0001".
SMALLEST_SHOWN = 5e-5


class Reading(Fixed):
    """A measured value with its standard uncertainty.

    Attributes:
        value: the estimate, in `unit`; None when it could not be had (`how` then says why).
        u: standard uncertainty (JCGM 100:2008, 2.3.1), in `unit`, never negative; None when unknown.
        unit: for example "ms", "mm", "percent", "Bd".
        n: number of observations behind it, None when that has no meaning.
        how: how it was obtained, or why it could not be.

    Raises:
        ValueError: on a value or an uncertainty that is not finite, or a negative uncertainty.
    """

    __slots__ = ("how", "n", "u", "unit", "value")

    value: float | None
    u: float | None
    unit: str
    n: int | None
    how: str

    def __init__(self, value: float | None, u: float | None, unit: str, n: int | None = None, how: str = "") -> None:
        if value is not None and not math.isfinite(value):
            raise ValueError(f"a reading must be finite, not {value} {unit}")
        if u is not None and not (math.isfinite(u) and u >= 0):
            raise ValueError(f"a standard uncertainty must be finite and not negative, not {u} {unit}")
        self._fix(value=value, u=u, unit=unit, n=n, how=how)

    @property
    def expanded(self) -> float | None:
        """Expanded uncertainty U = 2u, in `unit`."""
        return None if self.u is None else COVERAGE_FACTOR * self.u

    def scaled(self, factor: float, unit: str) -> "Reading":
        """Return the same reading in another unit: value and u times `factor`."""
        return self.but(
            value=None if self.value is None else self.value * factor,
            u=None if self.u is None else self.u * abs(factor),
            unit=unit,
        )

    def __str__(self) -> str:
        """Write value and expanded uncertainty to the digits the doubt allows, for example "21.98 ± 0.04 ms"."""
        if self.value is None:
            return f"not known ({self.how})" if self.how else "not known"
        if not self.expanded:
            return f"{self.value:.4g} {self.unit}"
        if self.expanded < SMALLEST_SHOWN:
            return f"{self.value:z.4f} ± <0.0001 {self.unit}"
        digits = decimals_for(self.expanded)
        return f"{self.value:z.{digits}f} ± {self.expanded:.{digits}f} {self.unit}"


def missing(unit: str, why: str) -> Reading:
    """Return a reading that could not be had, with the reason."""
    return Reading(None, None, unit, how=why)


def decimals_for(expanded: float) -> int:
    """Number of decimals that shows `expanded` to one significant digit, two if it begins with 1 (0 to 6)."""
    exponent = math.floor(math.log10(expanded))
    leading = expanded / 10**exponent
    return min(6, max(0, -exponent + (1 if leading < 2 else 0)))
