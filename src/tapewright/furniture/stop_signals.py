"""Being told to stop (Ctrl-C, a closed terminal, a shutdown) becomes an exception, so that outputs are put at rest."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

#: what a system sends before it kills; Windows has only some of them. Ctrl-C is among them because a program started
#: in the background is born deaf to it.
STOPS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name))


class ToldToStopError(KeyboardInterrupt):
    """The program was told to stop; carries the number of the signal."""


@contextmanager
def stops_raise() -> Iterator[None]:
    """Let those signals raise within the block, like Ctrl-C does."""

    def stop(number: int, frame: FrameType | None) -> None:
        raise ToldToStopError(number)

    before = {number: signal.signal(number, stop) for number in STOPS}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
