"""Tapewright: the bench companion of a person who restores start-stop teleprinters and tape punches.

import tapewright as tw

line = tw.read_line("capture.csv", nominal=45.45)
line.contacts[2].closing_late_ms        # a Reading: value, u, unit, n

Nothing is measured, and nothing heavy loaded, before it is asked for.
"""

import os
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tapewright.line.document import Line

__version__ = "0.2.0"
__all__ = ["read_line"]


def read_line(
    capture: str | os.PathLike[str],
    *,
    nominal: float | str = "auto",
    alphabet: str = "ita2",
    channel: str | int | None = None,
    rate: float | None = None,
    idle: str = "auto",
    threshold: str | float | tuple[float, float] = "auto",
    clock_ppm: float = 0.0,
    expect: str | None = None,
    window: float = 0.2,
    unshift_on_space: bool = False,
    elements: int = 5,
    limits: str | os.PathLike[str] | None = None,
) -> "Line":
    """Measure a recorded line signal, as `tapewright line read` does.

    Args:
        capture: the file, in one of the formats of docs/reference/capture-files.md.
        nominal: speed it should have, in baud; "auto" takes the nearest usual one.
        alphabet: code table: "ita2" or "us".
        channel: name or number (from 1); None takes the one with characters.
        rate: samples a second, where the file does not tell.
        idle: level of the line at rest: "auto", "high" or "low".
        threshold: "auto", a level, or two, (low, high), in the file's own units.
        clock_ppm: how far the recorder's clock may be out.
        expect: text that was sent, or pattern:NAME[:COUNT].
        window: width of a receiver's look, as a share of the unit.
        unshift_on_space: whether the machine goes back to letters on a space.
        elements: elements of a character; other counts than five are read only when asked.
        limits: your own limits, a TOML file.

    Raises:
        tapewright.errors.InputError: when the file cannot be read.
        tapewright.errors.WrongUseError: for a setting that makes no sense.
    """
    from tapewright.furniture.settings import from_keywords
    from tapewright.line.from_settings import measure
    from tapewright.line.settings import ReadSettings

    files = {"capture": Path(capture)} | ({} if limits is None else {"limits": Path(limits)})
    settings = from_keywords(
        ReadSettings,
        nominal=nominal,
        alphabet=alphabet,
        channel=channel,
        rate=rate,
        idle=idle,
        threshold=threshold,
        clock_ppm=clock_ppm,
        expect=expect,
        window=window,
        unshift_on_space=unshift_on_space,
        elements=elements,
    )
    return measure(files, settings).document()
