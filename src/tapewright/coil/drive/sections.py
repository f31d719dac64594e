"""A drive as the user writes it: TOML sections with a key for each figure, or the same keys from options.

Every figure is a number, or `{ value = 66.0, u = 0.5 }` with its standard uncertainty. What cannot be is refused by
name: which key, what was expected, what was found, what to do. settings.py holds the keys.
"""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from tapewright.coil.settings import DriveKeys
from tapewright.errors import InputError
from tapewright.furniture.kinds import NotOfKindError, Number, Text, Whole
from tapewright.furniture.settings import Setting, settings_in

LARGEST = 1e300
#: "section.key" -> what it may hold
KEYS: Mapping[str, Setting] = {part.key: part for part in settings_in(DriveKeys)}
SECTIONS: Mapping[str, tuple[str, ...]] = {
    section: tuple(key.partition(".")[2] for key in KEYS if key.startswith(f"{section}."))
    for section in dict.fromkeys(key.partition(".")[0] for key in KEYS)
}


@dataclass(frozen=True, slots=True)
class Sections:
    """A drive file after reading: what each key holds, and the doubts stated.

    Attributes:
        source: the file's name, or "the options".
        numbers: "section.key" -> number.
        words: "section.key" -> word or text.
        doubts: "section.key" -> standard uncertainty.
        given: the sections that are present.
    """

    source: str
    numbers: Mapping[str, float]
    words: Mapping[str, str]
    doubts: Mapping[str, float]
    given: frozenset[str]

    def number(self, key: str, default: float) -> float:
        """Return a figure or its default."""
        return self.numbers.get(key, default)

    def must(self, key: str, do: str) -> float:
        """Return a figure that has to be there."""
        if key not in self.numbers:
            raise self.refuse(key, "a number above zero", "nothing", do)
        return self.numbers[key]

    def refuse(self, key: str, expected: str, found: str, do: str = "") -> InputError:
        """Return the refusal of a figure that cannot be."""
        return InputError(self.source, place=f"key '{key}'", expected=expected, found=found, do=do)


def read_sections(path: Path | None, options: Mapping[str, object]) -> Sections:
    """Read a drive file and lay the options over it ("coil.r_ohm" -> value).

    Raises:
        InputError: on TOML that cannot be read, an unknown key, or a figure that cannot be.
    """
    tree = _load(path) if path else {}
    source = path.name if path else "the options"
    flat = {f"{section}.{key}": value for section, keys in tree.items() for key, value in keys.items()}
    given = frozenset({*tree, *(key.partition(".")[0] for key in options)})
    sections = Sections(source, numbers := {}, words := {}, doubts := {}, given)
    for key, value in {**flat, **options}.items():
        part = KEYS[key]
        if isinstance(part.kind, Number | Whole):
            if isinstance(value, dict):
                if set(value) != {"value", "u"}:
                    raise sections.refuse(key, "{ value = ..., u = ... }", repr(value))
                doubts[key] = _doubt(sections, f"{key}.u", value["u"])
                value = value["value"]
            numbers[key] = _number(sections, key, value)
        elif isinstance(part.kind, Text) and not isinstance(value, str):
            raise sections.refuse(key, "a text", repr(value))
        else:
            words[key] = str(_read(sections, key, value))
    return sections


def _load(path: Path) -> dict[str, dict[str, object]]:
    try:
        tree = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        place = f"byte {error.start}"
        raise InputError(path.name, place=place, expected="text in UTF-8", found="other bytes") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(path.name, expected="a TOML file", found=str(error) or "nesting without end") from None
    for section, keys in tree.items():
        if section not in SECTIONS:
            known = ", ".join(f"[{name}]" for name in SECTIONS)
            raise InputError(path.name, place=f"section '{section}'", expected=f"one of {known}", found=section)
        if not isinstance(keys, dict):
            raise InputError(path.name, place=f"key '{section}'", expected=f"a section [{section}]", found=repr(keys))
        for key in keys:
            if key not in SECTIONS[section]:
                known = ", ".join(SECTIONS[section])
                raise InputError(path.name, place=f"key '{section}.{key}'", expected=f"one of {known}", found=key)
    return tree


def _read(sections: Sections, key: str, value: object) -> object:
    try:
        return KEYS[key].kind.read(value)
    except NotOfKindError as reason:
        raise sections.refuse(key, reason.expected, reason.found) from None


def _number(sections: Sections, key: str, value: object) -> float:
    """Return a number; a text that reads like one is none in a file."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise sections.refuse(key, KEYS[key].kind.expected, repr(value))
    read = _read(sections, key, value if abs(value) < LARGEST else math.inf)
    return float(read) if isinstance(read, int | float) else math.nan


def _doubt(sections: Sections, place: str, value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < math.inf:
        raise sections.refuse(place, "a number that is not negative", repr(value))
    return float(value)
