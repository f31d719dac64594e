"""Single keys as they are struck, without waiting for Enter; nothing where there is no terminal."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol


class Keys(Protocol):
    """Where keys come from."""

    def poll(self) -> str:
        """Return what was struck since the last time; empty when nothing was."""


class NoKeys:
    """No terminal: no keys."""

    def poll(self) -> str:
        """Return nothing."""
        return ""


class _PosixKeys:
    """A terminal with line editing switched off."""

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor

    def poll(self) -> str:
        """Read what is there."""
        import select

        out = b""
        while select.select([self._descriptor], [], [], 0)[0]:
            data = os.read(self._descriptor, 64)
            if not data:
                break
            out += data
        return out.decode(errors="replace")


class _WindowsKeys:
    """The console of Windows."""

    def poll(self) -> str:
        """Read what is there."""
        import importlib

        console = importlib.import_module("msvcrt")
        out = ""
        while console.kbhit():
            out += console.getwch()
        return out


@contextmanager
def keys() -> Iterator[Keys]:
    """Return the keyboard; the terminal is as it was afterwards, whatever happens."""
    if not sys.stdin.isatty():
        yield NoKeys()
        return
    if os.name == "nt":
        yield _WindowsKeys()
        return
    import termios
    import tty

    descriptor = sys.stdin.fileno()
    before = termios.tcgetattr(descriptor)
    try:
        # signals stay: Ctrl-C still stops
        tty.setcbreak(descriptor)
        yield _PosixKeys(descriptor)
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)
