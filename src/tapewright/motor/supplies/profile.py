"""A supply's own words, from a small TOML file."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

from tapewright.errors import InputError

BUILT_IN = ("generic", "skerry")
NEEDED = ("set_volts", "set_limit", "get_limit", "on", "off", "is_on", "measure_volts", "measure_amps")
OPTIONAL = ("identify", "clear", "next_error", "watchdog")
WITH_VALUE = ("set_volts", "set_limit", "watchdog")
LONGEST_WORD, LARGEST_BYTES = 80, 100_000
DO = "Begin from the generic one: docs/how-to/bring-the-speed-in.md shows it."


@dataclass(frozen=True, slots=True)
class Profile:
    """Words and link of a supply.

    Attributes:
        name: of the profile.
        words: what is said for what; empty for what it cannot do.
        timeout_s: how long an answer may take.
        ends: how a line ends.
        watchdog_s: after how much silence it switches off by itself, where it can.
    """

    name: str
    words: Mapping[str, str]
    timeout_s: float
    ends: str
    watchdog_s: float


def read_profile(name: str) -> Profile:
    """Read a built-in profile, or a file.

    Raises:
        InputError: for a file that is no profile; names the key.
    """
    if name in BUILT_IN:
        text = resources.files("tapewright.motor.supplies.profiles").joinpath(f"{name}.toml").read_text("utf-8")
        return _profile(name, tomllib.loads(text))
    path = Path(name)
    expected = f"a profile in TOML, or one of {', '.join(BUILT_IN)}"
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError(path.name, expected=expected, found="a larger file", do=DO)
    try:
        return _profile(path.name, tomllib.loads(path.read_bytes().decode("utf-8-sig")))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as reason:
        raise InputError(path.name, expected=expected, found=str(reason)[:120], do=DO) from reason


def _profile(name: str, document: dict[str, Any]) -> Profile:
    words, link = _table(name, document, "words"), _table(name, document, "link")
    for key in words:
        if key not in (*NEEDED, *OPTIONAL):
            raise _wrong(name, f"words.{key}", f"one of {', '.join((*NEEDED, *OPTIONAL))}", "another key")
    said = {key: _word(name, key, words.get(key, "")) for key in (*NEEDED, *OPTIONAL)}
    ends = link.get("ends", "\n")
    if ends not in ("\n", "\r", "\r\n"):
        raise _wrong(name, "link.ends", "\\n, \\r or \\r\\n", repr(ends)[:40])
    return Profile(
        name, said, _seconds(name, link, "timeout_s", 2.0, 60.0), ends, _seconds(name, link, "watchdog_s", 15.0, 3600.0)
    )


def _table(name: str, document: dict[str, Any], key: str) -> dict[str, Any]:
    table = document.get(key, {})
    if not isinstance(table, dict):
        raise _wrong(name, key, f"a table [{key}]", type(table).__name__)
    return table


def _word(name: str, key: str, word: Any) -> str:
    if not isinstance(word, str) or len(word) > LONGEST_WORD or not word.isprintable():
        raise _wrong(name, f"words.{key}", f"a line of at most {LONGEST_WORD} printable characters", repr(word)[:60])
    if key in NEEDED and not word:
        raise _wrong(name, f"words.{key}", "a command", "nothing")
    if word and (("{value}" in word) != (key in WITH_VALUE) or word.replace("{value}", "").count("{")):
        wanted = "one {value}" if key in WITH_VALUE else "no {value}"
        raise _wrong(name, f"words.{key}", f"a command with {wanted}", repr(word)[:60])
    return word


def _seconds(name: str, link: dict[str, Any], key: str, usual: float, most: float) -> float:
    value = link.get(key, usual)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0.01 <= value <= most:
        raise _wrong(name, f"link.{key}", f"seconds, 0.01 to {most:g}", repr(value)[:40])
    return float(value)


def _wrong(name: str, key: str, expected: str, found: str) -> InputError:
    return InputError(name, place=f"key '{key}'", expected=expected, found=found, do=DO)
