"""A published number: value, unit, source."""

from dataclasses import dataclass

from tapewright.number import Source


@dataclass(frozen=True, slots=True)
class Figure:
    """One number with its unit and the place it comes from."""

    value: float
    unit: str
    source: Source
