"""Who makes the figures that take long: whoever follows the line itself, or somebody beside it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol, TypeVar

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


class Answer(Protocol[T_co]):
    """What comes of a piece of work, now or later."""

    def done(self) -> bool:
        """Say whether it is there."""

    def result(self) -> T_co:
        """Give it; wait for it where it is not there yet."""


class Helper(Protocol):
    """Takes work and does it, one piece after the other."""

    def submit(self, work: Callable[[], T], /) -> Answer[T]:
        """Take work that needs nothing but what it carries."""


@dataclass(frozen=True, slots=True)
class Ready(Answer[T_co]):
    """An answer that is there."""

    value: T_co

    def done(self) -> bool:
        """Say yes."""
        return True

    def result(self) -> T_co:
        """Give it."""
        return self.value


class AtOnce:
    """Do the work when it is handed over, so that how a signal is cut into pieces changes nothing."""

    def submit(self, work: Callable[[], T], /) -> Answer[T]:
        """Do it."""
        return Ready(work())
