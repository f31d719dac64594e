"""Stamped edges as they come: from a serial port, a TCP connection, the standard input or a file (recordings.stamps).

The stamps are believed; when they arrive is not looked at.
"""

import contextlib
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.capture import Suspicion
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.growing_file import ByteStream
from tapewright.recordings.live.serial_text import names, open_port
from tapewright.recordings.live.source import EdgePiece, GapPiece, Piece
from tapewright.recordings.stamps import Stamp, Stamps

KIND = "stamps"
WHAT = "a microcontroller that stamps edges: serial port, tcp://HOST:PORT, - or a file"
EXAMPLE = "stamps:/dev/ttyACM0"
#: how long is waited for more before the keyboard is looked at; for a head; for somebody who calls
WAIT_S, HEAD_S = 0.05, 10.0
MOST_BYTES, USUAL_BAUD = 1 << 16, 115_200
#: after the end of a stream the last level has held for so long
HELD_S = 1.0


class Bytes(Protocol):
    """Bytes as they come: none yet (empty), or the end (None)."""

    def read(self, most: int) -> bytes | None:
        """Return what there is, at most so much."""

    def close(self) -> None:
        """Let go of it."""


class StampedSource:
    """One stream of stamped edges.

    Args:
        stream: its bytes.
        what: what it is, for people.

    Raises:
        InputError: when no head comes.
    """

    rate_hz: float | None = None
    whole_file: Path | None = None

    def __init__(self, stream: Bytes, what: str) -> None:
        self._stream, self.what, self._closed, self._until_s = stream, what, False, 0.0
        self._stamps = Stamps(what)
        self._told: list[Stamp] = []
        until, self._over = time.monotonic() + HEAD_S, False
        while not self._stamps.rate_hz:
            data = self._stream.read(MOST_BYTES)
            if data is None or time.monotonic() > until:
                self._stream.close()
                found = "the end" if data is None else f"nothing whole in {HEAD_S:g} s"
                do = "Reset it: the head comes first. docs/reference/stamped-edges.md tells the form."
                raise InputError(what, expected="the head of stamped edges", found=found, do=do)
            self._told += self._stamps.feed(data)

    @property
    def suspicions(self) -> tuple[Suspicion, ...]:
        """Say what came garbled, and whether the clock went back."""
        return self._stamps.suspicions

    def pieces(self) -> Iterator[Piece]:
        """Return pieces until the stream ends or is closed.

        Raises:
            InputError: when it becomes unreadable, after all that came before.
        """
        yield from self._grouped(self._told)
        while not self._closed:
            try:
                data = self._stream.read(MOST_BYTES)
            except OSError as reason:
                found, do = str(reason), "Is it still plugged in?"
                raise InputError(self.what, expected="stamped edges", found=found, do=do) from reason
            if data is None:
                self._until_s += HELD_S
                yield self._piece([])
                return
            yield from self._grouped(self._stamps.feed(data))

    def _grouped(self, told: list[Stamp]) -> Iterator[Piece]:
        """Return what was told: edges together, a gap by itself."""
        edges: list[Stamp] = []
        for stamp in told:
            if stamp.kind == "gap":
                yield self._piece(edges)
                edges = []
                yield GapPiece(stamp.at_s - self._until_s, stamp.why)
            elif stamp.kind == "edge":
                edges.append(stamp)
            self._until_s = stamp.at_s
        yield self._piece(edges)

    def _piece(self, edges: list[Stamp]) -> EdgePiece:
        times = np.array([edge.at_s for edge in edges], float)
        levels = np.array([bool(edge.high) for edge in edges], bool)
        return EdgePiece(times, levels, np.full(times.size, self._stamps.u_s), self._until_s)

    def close(self) -> None:
        """Let go of the stream."""
        self._closed = True
        self._stream.close()


class _Port:
    """A serial port."""

    def __init__(self, name: str, baud: int) -> None:
        self._port: Any = open_port(name, baudrate=baud, timeout=WAIT_S)

    def read(self, most: int) -> bytes | None:
        data: bytes = self._port.read(1)
        return data + self._port.read(min(most, self._port.in_waiting)) if data else data

    def close(self) -> None:
        self._port.close()


class _Connection:
    """A TCP connection: called, or waited for where the host is left out."""

    def __init__(self, host: str, port: int) -> None:
        self._server: socket.socket | None = None
        self._line: socket.socket | None = None
        if host:
            self._line = socket.create_connection((host, port), timeout=HEAD_S)
            self._line.settimeout(WAIT_S)
        else:
            self._server = socket.create_server(("", port))
            self._server.settimeout(WAIT_S)

    def read(self, most: int) -> bytes | None:
        try:
            if self._line is None:
                assert self._server is not None
                self._line = self._server.accept()[0]
                self._line.settimeout(WAIT_S)
            return self._line.recv(most) or None
        except TimeoutError:
            return b""

    def close(self) -> None:
        for each in (self._line, self._server):
            if each is not None:
                with contextlib.suppress(OSError):
                    each.close()


def unavailable() -> str:
    """Say why it cannot be used: a file, a pipe and a network are always there."""
    return ""


def found() -> tuple[str, ...]:
    """Name the serial ports."""
    return names()


def open_source(asked: Asked) -> StampedSource:
    """Open it.

    Raises:
        WrongUseError: for an address that is none.
        InputError: when nothing is there.
    """
    where = asked.must_say_where(KIND, EXAMPLE)
    try:
        return StampedSource(_stream(where, asked), f"stamps from {where}")
    except OSError as reason:
        raise InputError(f"--from {KIND}:{where}", expected="a stream of stamped edges", found=str(reason),
                         do="Is it there, and is nobody else using it?") from reason  # fmt: skip


def _stream(where: str, asked: Asked) -> Bytes:
    if where.startswith("tcp://"):
        host, colon, port = where.removeprefix("tcp://").rpartition(":")
        if not colon or not port.isdecimal() or not 0 < int(port) < 65536:
            raise WrongUseError(f"--from {KIND}:{where}: expected tcp://HOST:PORT, or tcp://:PORT to wait for a call.")
        return _Connection(host.strip("[]"), int(port))
    if where == "-" or Path(where).is_file() or Path(where).is_fifo():
        return ByteStream(where, follow=asked.follow)
    return _Port(where, round(asked.rate_hz or USUAL_BAUD))
