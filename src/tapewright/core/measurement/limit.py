"""A limit: low, high or both, with the place it comes from."""

import math
from dataclasses import dataclass

from tapewright.core.measurement.source import Source


@dataclass(frozen=True, slots=True)
class Limit:
    """The range a reading should lie in.

    Attributes:
        check: what is judged, for example "gross start-stop distortion".
        low: lowest allowed value in `unit`, None when there is none.
        high: highest allowed value in `unit`, None when there is none.
        unit: unit of both.
        source: where the limit comes from. No limit without one.

    Raises:
        ValueError: when there is neither low nor high, or they are crossed or not finite.
    """

    check: str
    low: float | None
    high: float | None
    unit: str
    source: Source

    def __post_init__(self) -> None:
        if self.low is None and self.high is None:
            raise ValueError(f"limit {self.check!r} has neither a low nor a high end")
        if any(end is not None and not math.isfinite(end) for end in (self.low, self.high)):
            raise ValueError(f"limit {self.check!r} has an end that is not a finite number")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"limit {self.check!r}: low {self.low} is above high {self.high}")
