"""A line to an instrument through VISA in pure Python: network, serial or USB."""

import importlib
from typing import Any

from tapewright.errors import InputError

INSTALL = "Install what is missing with: pip install 'tapewright[live]'."
#: the library's own pure-Python backend; tests use simulated instruments instead
BACKEND = "@py"
EXAMPLE = "TCPIP::192.168.1.20::5025::SOCKET"


class LostLinkError(InputError):
    """The instrument does not answer, or the connection is gone."""


class VisaLink:
    """One instrument."""

    def __init__(self, where: str, *, timeout_s: float, ends: str, backend: str = BACKEND) -> None:
        """Open it.

        Raises:
            InputError: when the library is absent or nothing answers there.
        """
        self.where, self._timeout_s, self._ends, self._backend = where, timeout_s, ends, backend
        self._manager: Any = None
        self._instrument: Any = None
        self._open()

    def write(self, line: str) -> None:
        """Send one line."""
        with _Lost(self.where):
            self._instrument.write(line)

    def ask(self, line: str) -> str:
        """Send one line and give the answer."""
        with _Lost(self.where):
            return str(self._instrument.query(line))

    def reopen(self) -> None:
        """Connect anew."""
        self._shut()
        self._open()

    def close(self) -> None:
        """Let go of it."""
        self._shut()

    def _open(self) -> None:
        try:
            visa = importlib.import_module("pyvisa")
        except ImportError as reason:
            raise InputError(self.where, expected="the instrument library", found="none", do=INSTALL) from reason
        with _Lost(self.where):
            self._manager = visa.ResourceManager(self._backend)
            self._instrument = self._manager.open_resource(self.where)
            self._instrument.timeout = round(1000 * self._timeout_s)
            self._instrument.read_termination = self._instrument.write_termination = self._ends

    def _shut(self) -> None:
        held = self._instrument
        self._instrument = None
        if held is not None:
            try:
                held.close()
            except Exception:  # what is gone needs no closing
                return


class _Lost:
    """What goes wrong on a line becomes one kind of error."""

    def __init__(self, where: str) -> None:
        self._where = where

    def __enter__(self) -> None: ...

    def __exit__(self, kind: Any, error: BaseException | None, trace: Any) -> None:
        if isinstance(error, Exception) and not isinstance(error, InputError):
            do = f"Is it switched on, and is the address right (for example {EXAMPLE})?"
            found = str(error)[:160] or type(error).__name__
            raise LostLinkError(self._where, expected="an answer", found=found, do=do) from error
