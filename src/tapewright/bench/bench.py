"""The bench as it runs: the workplace, with the lines that are watched and what a watch left behind."""

from dataclasses import dataclass, field

from tapewright.bench.live.left_over import LeftOver
from tapewright.bench.live.watches import Watches
from tapewright.bench.workplace import Workplace


@dataclass(frozen=True, slots=True)
class Bench(Workplace):
    """A workplace at which lines are watched.

    Attributes:
        left_over: takes in recordings of watches that did not come to their end.
        watches: lines that are being watched.
    """

    left_over: LeftOver = field(init=False)
    watches: Watches = field(init=False)

    def __post_init__(self) -> None:
        """Keep the watches of this book."""
        Workplace.__post_init__(self)
        object.__setattr__(self, "left_over", LeftOver(self))
        folder = self.recordings or self.arrivals
        object.__setattr__(self, "watches", Watches(self.book, folder, self.left_over.take))
