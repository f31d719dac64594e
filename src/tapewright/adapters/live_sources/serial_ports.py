"""The serial library and its ports, or why there are none."""

import importlib
from typing import Any

from tapewright.errors import InputError

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
