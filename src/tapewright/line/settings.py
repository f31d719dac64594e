"""What a person may say about a recorded line: the source of options, form fields and keywords."""

from dataclasses import dataclass

from tapewright.alphabets import ALPHABETS
from tapewright.furniture.kinds import Choice, Flag, Number, Numbers, Text, Whole
from tapewright.furniture.settings import Settings, setting

SLOWEST_BAUD, FASTEST_BAUD = 10.0, 400.0
#: As the trade writes it; meant is 1000/22 exactly, a unit of 22 ms.
ROUNDED = dict.fromkeys((45.45, 45.5, 45.0), 1000 / 22)


@dataclass(frozen=True, kw_only=True)
class ReadSettings(Settings):
    """The settings of `line read`."""

    nominal: float | None = setting(
        Number(SLOWEST_BAUD, FASTEST_BAUD, "baud", ROUNDED),
        "Nominal speed, baud",
        None,
        "Speed it should have, in baud: 45.45, 50, ...",
        unset="auto",
        metavar="BAUD",
    )
    alphabet: str = setting(
        Choice({name: each.name for name, each in ALPHABETS.items()}),
        "Code table",
        "ita2",
        "Code table: ita2, or us for the US commercial figures.",
    )
    channel: str | None = setting(
        Text(200), "Channel", None, "Name or number (from 1) of the channel; otherwise the one with characters."
    )
    rate: float | None = setting(
        Number(1e-3, 1e12), "Samples a second", None, "Samples a second, where the file does not tell."
    )
    idle: str = setting(
        Choice({"auto": "find it", "high": "high", "low": "low"}),
        "Level at rest",
        "auto",
        "Level of the line at rest (mark).",
    )
    threshold: tuple[float, ...] | None = setting(
        Numbers(1, 2),
        "Threshold",
        None,
        "Level, or LOW,HIGH, in the file's own units.",
        unset="auto",
        metavar="LEVEL|LOW,HIGH",
    )
    clock_ppm: float = setting(
        Number(0, 1e5), "Doubt of the clock, ppm", 0.0, "How far the recorder's clock may be out.", show_default=False
    )
    expect: str | None = setting(
        Text(lines=True, from_file=True),
        "What was sent",
        None,
        "Text that was sent, @FILE with it, or pattern:NAME[:COUNT].",
    )
    window: float = setting(
        Number(0, 0.99), "Window of the receiver", 0.2, "Width of a receiver's look, as a share of the unit."
    )
    unshift_on_space: bool = setting(
        Flag(), "Letters after a space", False, "The machine goes back to letters on a space."
    )
    elements: int = setting(
        Whole(5, 8),
        "Elements of a character",
        5,
        "Elements of a character; other counts than five are read only when asked.",
    )
