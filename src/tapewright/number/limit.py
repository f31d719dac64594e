"""A limit: low, high or both, with the place it comes from.

Where a figure comes from, and how far it can be trusted.
"""

import math
from dataclasses import dataclass
from enum import Enum


class Standing(Enum):
    """How far a figure can be trusted. Reports always print it."""

    PUBLISHED = "published"
    PUBLISHED_SECONDARY = "published, seen on a secondary page"
    DERIVED = "derived by arithmetic"
    MEMORY = "from memory, not seen"
    COMMON_PRACTICE = "common practice, no source"
    MANUAL = "the machine's manual, as entered by the owner"
    OWNER = "owner's choice"
    MEASURED = "measured here"


@dataclass(frozen=True, slots=True)
class Source:
    """A place a reader can go and check.

    Attributes:
        document: name of the document, or of the person or file that stated the figure.
        place: clause, page, table or line in it; empty when the document has none.
        standing: how far the figure can be trusted.
    """

    document: str
    place: str
    standing: Standing

    def __str__(self) -> str:
        """Name document and place, as reports print it."""
        return f"{self.document}, {self.place}" if self.place else self.document


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
