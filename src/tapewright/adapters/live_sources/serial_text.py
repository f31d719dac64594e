r"""A serial port's own shift register: characters only, no timing.

Picture (bit 0 of the byte is element 1; stop of 1.5 units, as 5 data bits have it on a 16550-class port: from memory):

    line   ---+     +--1--+--2--+--3--+--4--+--5--+-------- 1.5 ---
              |start|                                               7.5 units a character
              +-----+

A port takes a whole number of baud. It looks at element 5 in its middle, 5.5 units after the start: a rate one per cent
off is then off by 5.5 % of a unit, which a sound signal bears.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tapewright.adapters.live_sources import serial_ports
from tapewright.adapters.live_sources.asked import Asked
from tapewright.app.live_source import CodePiece, Piece
from tapewright.core.line.capture import Suspicion
from tapewright.errors import InputError, WrongUseError

KIND = "text"
WHAT = "a serial port's receiver: characters only, no timing; needs --nominal"
EXAMPLE = "text:/dev/ttyUSB0"
DATA_BITS, STOP_UNITS = 5, 1.5
#: how long to wait for a character before the keyboard is looked at
WAIT_S = 0.05

unavailable = serial_ports.why_none
found = serial_ports.names


class TextSource:
    """One port as a receiver."""

    rate_hz: float | None = None
    whole_file: Path | None = None
    suspicions = (
        Suspicion(
            "no timing",
            "the port's receiver gives characters, not edges",
            "For speed and contacts use a sound input, a control input (--from control:PORT) or an oscilloscope.",
        ),
    )

    def __init__(self, asked: Asked) -> None:
        """Open the port.

        Raises:
            WrongUseError: when the speed was not said.
            InputError: when it cannot be opened.
        """
        where = asked.must_say_where(KIND, EXAMPLE)
        if asked.baud is None:
            raise WrongUseError("--from text needs --nominal: a receiver must know the speed.")
        baud = max(1, round(asked.baud))
        self._name = where
        self._port: Any = serial_ports.open_port(
            where, baudrate=baud, bytesize=DATA_BITS, parity="N", stopbits=STOP_UNITS, timeout=WAIT_S
        )
        off = 100 * (baud / asked.baud - 1)
        said = f", {off:+z.1f} % off the nominal" if abs(off) > 0.05 else ""
        self.what = f"receiver of {where} at {baud} baud{said}"

    def pieces(self) -> Iterator[Piece]:
        """Give characters as they come.

        Raises:
            InputError: when the port fails, after all that came before.
        """
        while self._port is not None:
            data = b""
            try:
                data = self._port.read(1)
                data += self._port.read(self._port.in_waiting) if data else b""
            except OSError as reason:
                yield self._piece(data)
                raise InputError(
                    f"serial port {self._name}", expected="characters", found=str(reason), do="Is it still plugged in?"
                ) from reason
            yield self._piece(data)

    @staticmethod
    def _piece(data: bytes) -> CodePiece:
        return CodePiece(tuple(code_of(byte) for byte in data))

    def close(self) -> None:
        """Close the port."""
        if self._port is not None:
            self._port.close()
            self._port = None


def code_of(byte: int) -> str:
    """Give the code of a byte as received: bit 0 is element 1; empty when it cannot be one."""
    return "".join(str(byte >> k & 1) for k in range(DATA_BITS)) if byte < 1 << DATA_BITS else ""


def open_source(asked: Asked) -> TextSource:
    """Open it."""
    return TextSource(asked)
