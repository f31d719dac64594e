r"""A serial port's own shift register: characters only, no timing.

Picture (bit 0 of the byte is element 1; stop of 1.5 units, as 5 data bits have it on a 16550-class port: from memory):

    line   ---+     +--1--+--2--+--3--+--4--+--5--+-------- 1.5 ---
              |start|                                               7.5 units a character
              +-----+

A port takes a whole number of baud. It looks at element 5 in its middle, 5.5 units after the start: a rate one per cent
off is then off by 5.5 % of a unit, which a sound signal bears.

The serial library and its ports, or why there are none.
"""

import importlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.capture import Suspicion
from tapewright.recordings.live import serial_text as serial_ports
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.source import CodePiece, Piece

INSTALL = "install what is missing with: pip install 'tapewright[live]'"


def why_none() -> str:
    """Say why no serial port can be used; empty when one can."""
    try:
        importlib.import_module("serial")
    except ImportError:
        return INSTALL
    return ""


def names() -> tuple[str, ...]:
    """Name the ports."""
    if why_none():
        return ()
    return tuple(str(port.device) for port in importlib.import_module("serial.tools.list_ports").comports())


def open_port(name: str, **how: Any) -> Any:
    """Open a port.

    Raises:
        InputError: when it cannot be opened.
    """
    serial = importlib.import_module("serial")
    try:
        return serial.Serial(name, **how)
    except (OSError, ValueError) as reason:  # the library's own error is an OSError
        raise InputError(
            f"serial port {name}",
            expected="a port that can be opened",
            found=str(reason),
            do="tapewright line watch --list names the ports; your user may need the right to use it.",
        ) from reason


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
        """Return characters as they come.

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
    """Return the code of a byte as received: bit 0 is element 1; empty when it cannot be one."""
    return "".join(str(byte >> k & 1) for k in range(DATA_BITS)) if byte < 1 << DATA_BITS else ""


def open_source(asked: Asked) -> TextSource:
    """Open it."""
    return TextSource(asked)
