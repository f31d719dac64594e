"""The practice machine as receiver: prints what it makes of the signal."""

import numpy as np

from tapewright.errors import WrongUseError
from tapewright.practice.receiver import PracticeReceiver, print_codes
from tapewright.practice.transmitter import Transmission
from tapewright.sender.send import Delivered, Progress
from tapewright.sender.sinks.asked import Asked

KIND = "practice"
WHAT = "the practice machine, receiving"
EXAMPLE = "practice:heron"
#: Heron is centred and sharp; Petrel looks late, with a wide window. Both invented.
RECEIVERS = {
    "heron": PracticeReceiver(1.0, window=0.16, orientation=0.0, scatter=0.004),
    "petrel": PracticeReceiver(1.0, window=0.30, orientation=0.12, scatter=0.01),
}


def unavailable() -> str:
    """It is always there."""
    return ""


def found() -> tuple[str, ...]:
    """Name the machines."""
    return tuple(RECEIVERS)


def receiver_of(name: str, unit_s: float, orientation: float = 0.0) -> PracticeReceiver:
    """Return a practice receiver geared for a unit, its orientation moved by so many units.

    Raises:
        WrongUseError: when there is none of that name.
    """
    if name not in RECEIVERS:
        raise WrongUseError(f"--to practice:{name}: there are {', '.join(RECEIVERS)}.")
    known = RECEIVERS[name]
    return PracticeReceiver(unit_s, known.window, known.orientation + orientation, known.scatter)


class PracticeSink:
    """A machine that prints."""

    drives_loop = False

    def __init__(self, asked: Asked) -> None:
        """Choose the machine."""
        self._name, self._asked = asked.where or "heron", asked
        receiver_of(self._name, 1.0)
        self.what = f"practice machine {self._name.capitalize()}"

    def deliver(self, transmission: Transmission, baud: float, progress: Progress) -> Delivered:
        """Let it print."""
        receiver = receiver_of(self._name, 1 / baud, self._asked.orientation)
        printed = print_codes(transmission.line, receiver, np.random.default_rng([self._asked.seed, 2]))
        progress(1.0)
        return Delivered("received at once, not in real time", printed=tuple(printed))

    def close(self) -> None:
        """Nothing is held."""


def open_sink(asked: Asked) -> PracticeSink:
    """Open it."""
    return PracticeSink(asked)
