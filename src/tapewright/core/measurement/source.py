"""Where a figure comes from, and how far it can be trusted."""

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
