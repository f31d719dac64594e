"""A drive as the user writes it: TOML sections with a key for each figure, or the same keys from options.

Every figure is a number, or `{ value = 66.0, u = 0.5 }` with its standard uncertainty. What cannot be is refused by
name: which key, what was expected, what was found, what to do.
"""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapewright.adapters.drive_keys import KEYS, NOT_UNDER, Choice, Figure, Words
from tapewright.errors import InputError


@dataclass(frozen=True, slots=True)
class Sections:
    """A drive file after reading: what each key holds, and the doubts stated.

    Attributes:
        source: the file's name, or "the options".
        values: "section.key" -> number or word.
        doubts: "section.key" -> standard uncertainty.
        given: the sections that are present.
    """

    source: str
    values: Mapping[str, Any]
    doubts: Mapping[str, float]
    given: frozenset[str]

    def number(self, key: str, default: float) -> float:
        """Give a figure or its default."""
        return float(self.values.get(key, default))

    def must(self, key: str, do: str) -> float:
        """Give a figure that has to be there."""
        if key not in self.values:
            raise InputError(self.source, place=f"key '{key}'", expected="a number above zero", found="nothing", do=do)
        return float(self.values[key])

    def optional(self, key: str) -> float | None:
        """Give a figure or None."""
        return float(self.values[key]) if key in self.values else None

    def refuse(self, key: str, expected: str, found: str, do: str) -> InputError:
        """Give the refusal of a figure that cannot be."""
        return InputError(self.source, place=f"key '{key}'", expected=expected, found=found, do=do)


def read_sections(path: Path | None, options: Mapping[str, Any]) -> Sections:
    """Read a drive file and lay the options over it ("coil.r_ohm" -> value).

    Raises:
        InputError: on TOML that cannot be read, an unknown key, or a figure that cannot be.
    """
    tree = _load(path) if path else {}
    source = path.name if path else "the options"
    flat = {f"{section}.{key}": value for section, keys in tree.items() for key, value in keys.items()}
    values: dict[str, Any] = {}
    doubts: dict[str, float] = {}
    for place, value in {**flat, **options}.items():
        section, _, key = place.partition(".")
        values[place] = _checked(source, place, KEYS[section][key], value, doubts)
    return Sections(source, values, doubts, frozenset({*tree, *(place.partition(".")[0] for place in options)}))


def _load(path: Path) -> dict[str, dict[str, Any]]:
    try:
        tree = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        place = f"byte {error.start}"
        raise InputError(path.name, place=place, expected="text in UTF-8", found="other bytes") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(path.name, expected="a TOML file", found=str(error) or "nesting without end") from None
    for section, keys in tree.items():
        if section not in KEYS:
            known = ", ".join(f"[{name}]" for name in KEYS)
            raise InputError(path.name, place=f"section '{section}'", expected=f"one of {known}", found=section)
        if not isinstance(keys, dict):
            raise InputError(path.name, place=f"key '{section}'", expected=f"a section [{section}]", found=repr(keys))
        for key in keys:
            if key not in KEYS[section]:
                known = ", ".join(KEYS[section])
                raise InputError(path.name, place=f"key '{section}.{key}'", expected=f"one of {known}", found=key)
    return tree


def _checked(source: str, place: str, allowed: Figure | Choice | Words, value: Any, doubts: dict[str, float]) -> Any:
    if isinstance(allowed, Words):
        if not isinstance(value, str):
            raise InputError(source, place=f"key '{place}'", expected="a text", found=repr(value))
        return value
    if isinstance(allowed, Choice):
        if value not in allowed.words:
            expected = f"one of {', '.join(allowed.words)}"
            raise InputError(source, place=f"key '{place}'", expected=expected, found=repr(value))
        return value
    number = value
    if isinstance(value, dict):
        if set(value) != {"value", "u"}:
            raise InputError(source, place=f"key '{place}'", expected="{ value = ..., u = ... }", found=repr(value))
        number = value["value"]
        doubt = _finite(source, f"{place}.u", value["u"], NOT_UNDER)
        doubts[place] = doubt
    return _finite(source, place, number, allowed)


def _finite(source: str, place: str, value: Any, allowed: Figure) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(source, place=f"key '{place}'", expected=allowed.expected, found=repr(value))
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number) or not allowed.fits(number):
        raise InputError(source, place=f"key '{place}'", expected=allowed.expected, found=f"{number:g}")
    return number
