"""The words of one oscilloscope, as a small TOML file says them."""

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from tapewright.errors import InputError

#: name of a sample's kind in a profile -> numpy type
SAMPLES = {"u8": "u1", "s8": "i1", "s16 big": ">i2", "s16 little": "<i2"}


@dataclass(frozen=True, slots=True)
class Profile:
    """What to say to an oscilloscope. The defaults are words many of them share (common practice, no source).

    Attributes:
        setup: commands sent once, in order.
        arm: begins one take.
        ready: answers, when the take is complete; *OPC? is of IEEE 488.2.
        interval: asks for the time from sample to sample, seconds.
        data: asks for the samples as a block.
        samples: what a sample is, one of `SAMPLES`.
        error: asks for the oldest entry of the error queue (SCPI 1999.0, 21.8: from memory).
        take_s: how long one take may last, seconds.
    """

    setup: tuple[str, ...] = ("*CLS",)
    arm: str = ":SINGle"
    ready: str = "*OPC?"
    interval: str = ":WAVeform:XINCrement?"
    data: str = ":WAVeform:DATA?"
    samples: str = "u8"
    error: str = "SYSTem:ERRor?"
    take_s: float = 10.0


def read_profile(path: Path | None) -> Profile:
    """Read a profile; without a file, the words many share.

    Raises:
        InputError: names the key, what was expected and what was found.
    """
    if path is None:
        return Profile()
    try:
        said: dict[str, Any] = tomllib.loads(path.read_text("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as reason:
        raise InputError(path.name, expected="TOML", found=str(reason)) from reason
    known = {field.name for field in fields(Profile)}
    for key, value in said.items():
        if key not in known:
            raise InputError(
                path.name, place=f"key {key!r}", expected=f"one of {', '.join(sorted(known))}", found="none of them"
            )
        _check(path.name, key, value)
    if "setup" in said:
        said["setup"] = tuple(said["setup"])
    return Profile(**said)


def _check(source: str, key: str, value: Any) -> None:
    """See that a value is of the kind its key wants."""
    if key == "setup":
        right = isinstance(value, list) and all(isinstance(v, str) for v in value)
        expected = "a list of commands"
    elif key == "take_s":
        right = isinstance(value, int | float) and not isinstance(value, bool) and 0 < value <= 3600
        expected = "seconds, more than 0 and at most 3600"
    elif key == "samples":
        right, expected = value in SAMPLES, f"one of {', '.join(SAMPLES)}"
    else:
        right, expected = isinstance(value, str) and bool(value.strip()), "a command"
    if not right:
        raise InputError(source, place=f"key {key!r}", expected=expected, found=repr(value))
