"""A machine as the shelf shows it."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class MachineOnShelf:
    """One machine of the book, from its newest identity and a count of its lines.

    Attributes:
        key: the same in every book (32 hex digits).
        name: what people call it; one machine a name in one book.
        model: model or type as the user writes it; may be empty.
        entries: lines about it.
        last_at: when the newest of them was written (UTC).
    """

    key: str
    name: str
    model: str
    entries: int
    last_at: datetime
