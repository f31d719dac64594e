r"""A control input of a serial port (CTS, DSR, CD or RI), looked at over and over: edges with their honest doubt.

Picture (o = a look; the change lies between the last look that saw the old level and the first that saw the new one):

    o   o   o   o       o   o          instant: the middle of the two looks
    ---------------+                   u = time between them / sqrt 12   (uniform: JCGM 100:2008, 4.3.7)
                   +---------

When the computer was busy elsewhere the two looks lie far apart, and the edge carries that. A USB adapter reports
changes once a millisecond or so; what it does before the computer sees it is not seen here: at least that is carried.
"""

import math
import queue
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.capture import Suspicion
from tapewright.recordings.live import serial_text as serial_ports
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.source import EdgePiece, Piece

KIND = "control"
WHAT = "a control input of a serial port: edges, as good as this computer's timing"
EXAMPLE = "control:/dev/ttyUSB0"
#: inputs in the order of --channel
INPUTS = ("cts", "dsr", "cd", "ri")
#: between two looks, and between two pieces
LOOK_EVERY_S, PIECE_S = 0.0002, 0.01
#: a USB adapter tells of changes once a millisecond (common practice, no source)
USB_STEP_S = 0.001

unavailable = serial_ports.why_none
found = serial_ports.names


class ControlSource:
    """One control input.

    Args:
        asked: which port; `channel` says which input (1 CTS, 2 DSR, 3 CD, 4 RI).
        clock: gives monotonic seconds.
    """

    rate_hz: float | None = None
    whole_file: Path | None = None
    suspicions = (
        Suspicion(
            "timing of this computer",
            "a control input is looked at some thousand times a second; each edge carries the time between two looks, "
            "and a millisecond of a USB adapter at least",
            "For each contact to 0.1 ms use a sound input or an oscilloscope.",
        ),
    )

    def __init__(self, asked: Asked, clock: Callable[[], float] = time.monotonic) -> None:
        """Open the port.

        Raises:
            WrongUseError: when there is no such input.
            InputError: when it cannot be opened.
        """
        where = asked.must_say_where(KIND, EXAMPLE)
        number = asked.channel or 1
        if number > len(INPUTS):
            raise WrongUseError(f"--channel: 1 to {len(INPUTS)} stand for {', '.join(i.upper() for i in INPUTS)}.")
        self._port: Any = serial_ports.open_port(where, timeout=0)
        self._input, self._clock = INPUTS[number - 1], clock
        self.what = f"{self._input.upper()} of {where}"
        self._queue: queue.Queue[EdgePiece] = queue.Queue()
        self._closed, self._lost = threading.Event(), ""
        self._name = where

    def pieces(self) -> Iterator[Piece]:
        """Return what each hundredth of a second brought.

        Raises:
            InputError: when the port can no longer be looked at.
        """
        looking = threading.Thread(target=self._look, daemon=True)
        looking.start()
        while not self._closed.is_set():
            try:
                yield self._queue.get(timeout=0.1)
            except queue.Empty:
                if not looking.is_alive():
                    break
        if not self._closed.is_set():
            raise InputError(
                f"serial port {self._name}",
                expected="the level of its input",
                found=self._lost,
                do="Is it still plugged in?",
            )

    def close(self) -> None:
        """Stop looking and close the port."""
        if not self._closed.is_set():
            self._closed.set()
            self._port.close()

    def _look(self) -> None:
        """Look until closed; a port that is pulled out ends it, and why is kept."""
        begun = told = before = self._clock()
        try:
            level = bool(getattr(self._port, self._input))
            edges: list[tuple[float, bool, float]] = []
            while not self._closed.is_set():
                now_level, now = bool(getattr(self._port, self._input)), self._clock()
                if now_level != level:
                    doubt_s = max(now - before, USB_STEP_S) / math.sqrt(12)
                    edges.append(((before + now) / 2 - begun, now_level, doubt_s))
                    level = now_level
                before = now
                if now - told >= PIECE_S:
                    self._queue.put(_piece(edges, now - begun))
                    edges, told = [], now
                time.sleep(LOOK_EVERY_S)
        except (OSError, TypeError, ValueError) as reason:
            # closed under our hands, or pulled out
            self._lost = str(reason) or type(reason).__name__


def _piece(edges: list[tuple[float, bool, float]], until_s: float) -> EdgePiece:
    return EdgePiece(
        np.array([at for at, _, _ in edges], float),
        np.array([high for _, high, _ in edges], bool),
        np.array([u for _, _, u in edges], float),
        until_s,
    )


def open_source(asked: Asked) -> ControlSource:
    """Open it."""
    return ControlSource(asked)
