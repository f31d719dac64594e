"""Measure again what the book keeps: the command's name leads to what measures."""

import importlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.errors import InputError

#: command -> module that measures for it. To add a command, add a line.
COMMANDS: dict[str, str] = {
    "line read": "line.from_settings",
    "tape read": "tape.read",
    "drive read": "coil.from_settings",
    "sheet check": "gauges.measure",
    "compare": "witnesses.measure",
    "trim": "gauges.trim.measure",
}


def measure_again(command: str, files: Mapping[str, Path], settings: Mapping[str, Any]) -> dict[str, Any]:
    """Return the document that the command makes of these files now.

    Raises:
        InputError: for a command that is not known, or what the command itself refuses.
    """
    if command not in COMMANDS:
        raise InputError(
            "steps",
            place="command",
            expected=", ".join(COMMANDS),
            found=repr(command),
            do="It was measured by another version.",
        )
    module = importlib.import_module(f"tapewright.{COMMANDS[command]}")
    try:
        report = module.measure(files, settings)
    except (KeyError, TypeError, ValueError, AttributeError) as problem:
        # settings written by another version, or by anybody, in a bundle: what exactly is odd about them nobody knows
        raise InputError(
            "steps",
            place="settings",
            expected=f"files and settings as `{command}` takes them",
            found=f"{type(problem).__name__} {problem}",
        ) from problem
    result: dict[str, Any] = module.document(report)
    return result
