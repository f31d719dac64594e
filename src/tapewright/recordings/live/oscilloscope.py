r"""An oscilloscope that speaks SCPI, over USB, network or serial: take after take, with a gap between two.

    arm > wait until it is ready > samples as an IEEE 488.2 block > arm again        after each command: its error queue

Between two takes the line is not seen, and that is said. Which words an instrument wants stands in its profile.

Blocks of binary data as IEEE 488.2 lays them out.

Picture:

    # 2 16 ................    definite (8.7.9): one digit says how many digits the length has, then so many bytes
    # 0 ...........  NL        indefinite (8.7.10): all up to the end of the message (ending with NL: from memory)
"""

import contextlib
import importlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Protocol

import numpy as np

from tapewright.errors import InputError
from tapewright.recordings.capture import Samples, Suspicion
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.scope_profile import SAMPLES, Profile, read_profile
from tapewright.recordings.live.source import GapPiece, Piece, SamplePiece


def data_of(message: bytes, source: str) -> bytes:
    """Return the data of a message that holds one block.

    Raises:
        InputError: when it holds none, or less than it promises.
    """

    def no(expected: str, found: str) -> InputError:
        return InputError(
            source,
            place="its block of data",
            expected=expected,
            found=found,
            do="Ask the instrument for binary data; see its profile.",
        )

    if message[:1] != b"#" or not message[1:2].isdigit():
        raise no("# and a digit (IEEE 488.2, 8.7.9)", repr(bytes(message[:12])))
    digits = int(message[1:2])
    if digits == 0:
        return message[2:-1] if message.endswith(b"\n") else message[2:]
    length = message[2 : 2 + digits]
    if len(length) < digits or not length.isdigit():
        raise no(f"a length of {digits} digits", repr(bytes(length)))
    data = message[2 + digits : 2 + digits + int(length)]
    if len(data) < int(length):
        raise no(f"{int(length)} bytes", f"{len(data)}")
    return data


KIND = "scope"
WHAT = "an oscilloscope that speaks SCPI, over USB, network or serial; --profile has its words"
EXAMPLE = "scope:TCPIP::192.168.1.20::5025::SOCKET"
INSTALL = "install what is missing with: pip install 'tapewright[live]'"
#: entries of an error queue read at most, and how many of them are told
MOST_ENTRIES, TOLD = 20, 3
#: answers 1 when all is done (IEEE 488.2, from memory)
OPC = "*OPC?"
#: besides the take itself an answer may need this long
ANSWER_S = 5.0
#: samples handed on at once
PIECE_S = 0.05


class Link(Protocol):
    """What carries commands to an instrument and its answers back."""

    def write(self, command: str) -> None:
        """Send a command."""

    def ask(self, query: str) -> str:
        """Send a query, give its answer."""

    def ask_raw(self, query: str) -> bytes:
        """Send a query, give its answer as bytes."""

    def close(self) -> None:
        """Let go."""


def unavailable() -> str:
    """Say why no instrument can be reached; empty when one can."""
    try:
        importlib.import_module("pyvisa")
        importlib.import_module("pyvisa_py")
    except ImportError:
        return INSTALL
    return ""


def found() -> tuple[str, ...]:
    """Name nothing: searching networks and buses takes long, and wakes what should sleep."""
    return ()


class VisaLink:
    """A link through the VISA library's pure-Python backend (or a simulated one)."""

    def __init__(self, address: str, timeout_s: float, backend: str = "@py") -> None:
        """Open it.

        Raises:
            InputError: when there is no such instrument.
        """
        self._name = f"instrument {address}"
        try:
            manager = importlib.import_module("pyvisa").ResourceManager(backend)
            self._resource: Any = manager.open_resource(address, read_termination="\n", write_termination="\n")
            self._resource.timeout = 1e3 * timeout_s
        except Exception as reason:
            raise self._no(reason) from reason

    def write(self, command: str) -> None:
        """Send a command."""
        try:
            self._resource.write(command)
        except Exception as reason:
            raise self._no(reason) from reason

    def ask(self, query: str) -> str:
        """Send a query, give its answer."""
        try:
            return str(self._resource.query(query)).strip()
        except Exception as reason:
            raise self._no(reason) from reason

    def ask_raw(self, query: str) -> bytes:
        """Send a query, give all bytes of its answer: a block may hold any byte, the end of line too."""
        try:
            self._resource.write(query)
            raw = bytes(self._resource.read_raw())
            while (missing := _still_missing(raw)) > 0:
                raw += bytes(self._resource.read_raw(missing))
            return raw
        except Exception as reason:
            raise self._no(reason) from reason

    def close(self) -> None:
        """Close it."""
        with contextlib.suppress(Exception):  # what is gone needs no closing
            self._resource.close()

    def _no(self, reason: Exception) -> InputError:
        return InputError(
            self._name,
            expected="an answer",
            found=str(reason).splitlines()[0],
            do="Is it on, connected and at this address?",
        )


def _still_missing(raw: bytes) -> int:
    """Return how many bytes a definite block still lacks."""
    if raw[:1] != b"#" or not raw[1:2].isdigit() or raw[1:2] == b"0":
        return 0
    digits = int(raw[1:2])
    length = raw[2 : 2 + digits]
    return 2 + digits + int(length) - len(raw) if len(length) == digits and length.isdigit() else 0


class Oscilloscope:
    """One instrument, spoken to in its profile's words."""

    def __init__(self, link: Link, profile: Profile) -> None:
        self._link, self._profile = link, profile

    def set_up(self) -> None:
        """Send the setup, command by command."""
        for command in self._profile.setup:
            self._do(command)

    def get_interval_s(self) -> float:
        """Ask for the time from sample to sample.

        Raises:
            InputError: when the answer is no time.
        """
        said = self._link.ask(self._profile.interval)
        self._see_errors(self._profile.interval)
        try:
            interval_s = float(said)
        except ValueError:
            interval_s = 0.0
        if not 0 < interval_s < 1:
            raise InputError(
                "oscilloscope",
                place=self._profile.interval,
                expected="seconds from sample to sample",
                found=repr(said),
                do="Put the right query for it into the profile.",
            )
        return interval_s

    def measure(self) -> Samples:
        """Take once; give the samples as they were converted, shape (n,)."""
        self._do(self._profile.arm)
        ready = self._link.ask(self._profile.ready)
        self._see_errors(self._profile.ready)
        if self._profile.ready == OPC and ready not in ("1", "+1"):
            raise InputError(
                "oscilloscope",
                place=OPC,
                found=repr(ready[:60]),
                expected="1, when the take is complete (IEEE 488.2)",
                do="Put another query that waits for it into the profile.",
            )
        data = data_of(self._link.ask_raw(self._profile.data), "oscilloscope")
        self._see_errors(self._profile.data)
        if not data:
            raise InputError(
                "oscilloscope",
                place=self._profile.data,
                expected="samples",
                found="an empty block",
                do="Does the channel record anything? See its profile.",
            )
        kind = np.dtype(SAMPLES[self._profile.samples])
        whole = len(data) // kind.itemsize * kind.itemsize
        return np.frombuffer(data[:whole], kind).astype(kind.newbyteorder("="), copy=False)

    def close(self) -> None:
        """Let go of the instrument."""
        self._link.close()

    def _do(self, command: str) -> None:
        self._link.write(command)
        self._see_errors(command)

    def _see_errors(self, after: str) -> None:
        """Read the error queue until it is empty: number, then a text; 0 is none (SCPI 1999.0, 21.8: from memory).

        Raises:
            InputError: with all entries.
        """
        entries = []
        for _ in range(MOST_ENTRIES):
            entry = self._link.ask(self._profile.error)
            if entry.split(",")[0].strip() in ("0", "+0", "-0"):
                break
            entries.append(entry)
        if entries:
            more = f" and {len(entries) - TOLD} more" if len(entries) > TOLD else ""
            told = "; ".join(entry[:80] for entry in entries[:TOLD]) + more
            raise InputError(
                "oscilloscope",
                place=after,
                expected="no entry in its error queue",
                found=told,
                do="Put the right command for it into the profile.",
            )


class ScopeSource:
    """Take after take of one oscilloscope."""

    whole_file: Path | None = None
    suspicions: tuple[Suspicion, ...] = ()

    def __init__(self, scope: Oscilloscope, name: str) -> None:
        """Set it up and ask for its rate.

        Raises:
            InputError: when it does not answer as it should.
        """
        self._scope, self._closed = scope, False
        try:
            scope.set_up()
            scope.measure()
            self.rate_hz: float | None = 1 / scope.get_interval_s()
        except BaseException:
            scope.close()
            raise
        self.what = f"oscilloscope {name}, {self.rate_hz:g} samples a second"

    def pieces(self) -> Iterator[Piece]:
        """Return each take in pieces, then the gap until the next; keys are looked at between pieces."""
        while not self._closed:
            samples = self._scope.measure()
            step = max(1, round((self.rate_hz or 1.0) * PIECE_S))
            for first in range(0, samples.size, step):
                yield SamplePiece(samples[first : first + step])
            yield GapPiece(None, "the oscilloscope was being read")

    def close(self) -> None:
        """Let go of it."""
        if not self._closed:
            self._closed = True
            self._scope.close()


def open_source(asked: Asked) -> ScopeSource:
    """Open it."""
    where = asked.must_say_where(KIND, EXAMPLE)
    profile = read_profile(asked.profile)
    return ScopeSource(Oscilloscope(VisaLink(where, profile.take_s + ANSWER_S), profile), where)
