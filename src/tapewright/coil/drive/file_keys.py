"""A drive as the user writes it: TOML sections with a key for each figure, or the same keys from options.

Every figure is a number, or `{ value = 66.0, u = 0.5 }` with its standard uncertainty. What cannot be is refused by
name: which key, what was expected, what was found, what to do.

The keys of a drive file: which there are, and what each may hold. To add a figure, add a key here.
"""

import math
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapewright.alphabets import ALPHABETS
from tapewright.coil.drive.drive import Kind
from tapewright.errors import InputError


@dataclass(frozen=True, slots=True)
class Figure:
    """What a key may hold: a test, and its words."""

    fits: Callable[[float], bool]
    expected: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words."""

    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Words:
    """Any text."""




def _between(low: float, high: float, unit: str) -> Figure:
    """Allow what a bench can meet; beyond it, a unit was probably mistaken."""
    return Figure(lambda x: low <= x <= high, f"a number from {low:g} to {high:g} {unit}")


def _none_to(high: float, unit: str) -> Figure:
    return Figure(lambda x: 0 <= x <= high, f"a number from 0 to {high:g} {unit}")


_OHM, _HENRY, _AMPERE = _between(1e-2, 1e6, "ohm"), _between(1e-5, 1e3, "H"), _between(1e-6, 1e3, "A")
_VOLT, _FARAD, _WATT = _between(1e-2, 1e5, "V"), _between(1e-11, 1.0, "F"), _between(1e-3, 1e6, "W")
_MS, _PERCENT = _between(1e-2, 1e5, "ms"), _between(1e-3, 1e3, "percent")
_NONE_OR_OHM, _NONE_OR_MS, _NONE_OR_VOLT = _none_to(1e6, "ohm"), _none_to(1e4, "ms"), _none_to(1e2, "V")
_CELSIUS = _between(-100.0, 400.0, "degrees Celsius")
NOT_UNDER = Figure(lambda x: x >= 0, "a number that is not negative")
_SHARE = Figure(lambda x: 0 <= x <= 1, "a number from 0 to 1")
_STOP = Figure(lambda x: 1 <= x <= 100, "a stop of 1 to 100 units")
_SEARCH_COUNT = Figure(lambda x: 2 <= x <= 1000 and x == int(x), "a whole number from 2 to 1000")

KEYS: Mapping[str, Mapping[str, Figure | Choice | Words]] = {
    "coil": {
        "r_ohm": _OHM, "l_h": _HENRY, "pull_in_a": _AMPERE, "drop_out_a": _AMPERE,
        "volts": _VOLT, "amps": _AMPERE, "tau_ms": _MS, "tau_series_ohm": _NONE_OR_OHM,
        "pair": Choice(("series", "parallel")), "coupling": _SHARE,
        "at_c": _CELSIUS, "temperature_c": _CELSIUS, "room_c": _CELSIUS,
        "travel_ms": _NONE_OR_MS, "return_ms": _NONE_OR_MS,
        "k_per_w": _between(1e-2, 1e4, "K/W"), "max_c": _CELSIUS, "max_w": _WATT,
    },
    "supply": {"volts": _VOLT, "limit_a": _AMPERE, "recovery_ms": _NONE_OR_MS, "c_out_f": _FARAD},
    "series": {"r_ohm": _NONE_OR_OHM, "rated_w": _WATT},
    "switch": {"side": Choice(("low", "high")), "breakdown_v": _VOLT},
    "suppressor": {
        "kind": Choice(tuple(kind.value for kind in Kind)), "r_ohm": _NONE_OR_OHM, "volts": _VOLT, "c_f": _FARAD,
        "drop_v": _NONE_OR_VOLT, "across": Choice(("coil", "contact")),
    },
    "line": {
        "unit_ms": _MS, "baud": _between(0.1, 1e4, "baud"), "stop_units": _STOP, "text": Words(),
        "alphabet": Choice(tuple(ALPHABETS)),
    },
    "limits": {
        "added_bias_percent": _PERCENT, "contact_v": _VOLT, "operate_ms": _MS, "release_ms": _MS,
        "resistor_w": _WATT, "steady_a": _AMPERE,
    },
    "search": {
        "added_bias_percent": _PERCENT, "contact_v": _VOLT, "least_current_ratio": _between(1.0, 100.0, ""),
        "resistor_from_ohm": _NONE_OR_OHM, "resistor_to_ohm": _OHM, "resistors": _SEARCH_COUNT,
        "most_resistor_w": _WATT,
    },
}  # fmt: skip


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
        """Return a figure or its default."""
        return float(self.values.get(key, default))

    def must(self, key: str, do: str) -> float:
        """Return a figure that has to be there."""
        if key not in self.values:
            raise InputError(self.source, place=f"key '{key}'", expected="a number above zero", found="nothing", do=do)
        return float(self.values[key])

    def optional(self, key: str) -> float | None:
        """Return a figure or None."""
        return float(self.values[key]) if key in self.values else None

    def refuse(self, key: str, expected: str, found: str, do: str) -> InputError:
        """Return the refusal of a figure that cannot be."""
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
