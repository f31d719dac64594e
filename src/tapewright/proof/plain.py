"""Taking JSON apart that anybody may have written: what is not as expected is not there, and nothing breaks.

A book holds what other versions and other people wrote. A proof must come out of any of it; what cannot be read is
listed among the open points, never guessed.
"""

import math
from collections.abc import Mapping
from typing import Any

from tapewright.number import Reading, State

#: An odd number in a book must not fill a page: nothing on a bench is larger than this.
LARGEST = 1e15


def mapping(value: Any) -> Mapping[str, Any]:
    """Return a mapping as it is, anything else as an empty one."""
    return value if isinstance(value, Mapping) else {}


def each(value: Any) -> list[Any]:
    """Return the items of a list, nothing for anything else."""
    return list(value) if isinstance(value, list | tuple) else []


def mappings(value: Any) -> list[Mapping[str, Any]]:
    """Return those items of a list that are mappings."""
    return [item for item in each(value) if isinstance(item, Mapping)]


def words(value: Any) -> str:
    """Return a text as one run of words; a number as digits; anything else as nothing."""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, bool) or not isinstance(value, int | float):
        return ""
    return f"{value:.10g}" if math.isfinite(value) else ""


def first_words(source: Mapping[str, Any], *keys: str) -> str:
    """Return the first of these keys that holds words."""
    return next((found for key in keys if (found := words(source.get(key)))), "")


def number(value: Any) -> float | None:
    """Return a finite number, None for anything else (True is no number)."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        found = float(value)
    except OverflowError:
        return None
    return found if math.isfinite(found) and abs(found) < LARGEST else None


def count(value: Any) -> int | None:
    """Return a whole number that is not negative, None for anything else."""
    found = number(value)
    return int(found) if found is not None and found >= 0 and found == int(found) else None


def truth(value: Any) -> bool | None:
    """Return True or False as they are, None for anything else."""
    return value if isinstance(value, bool) else None


def reading(value: Any) -> Reading | None:
    """Return a measured number of a result document ({"value", "u", "unit", "n"}), None when it is null or odd."""
    table = mapping(value)
    found, u = number(table.get("value")), number(table.get("u"))
    if found is None:
        return None
    return Reading(found, abs(u) if u is not None else None, words(table.get("unit")), count(table.get("n")))


def spoken(found: Reading) -> str:
    """Say a reading as people read it: % for percent, no minus before nothing, a minus as long as a plus."""
    said = str(found).replace(" percent", " %")
    number_, _, rest = said.partition(" ")
    if number_.startswith("-"):
        number_ = "−" + number_[1:] if number_.strip("-0.") else number_[1:]
    return f"{number_} {rest}" if rest else number_


def state(value: Any) -> State:
    """Return one of the three answers; what is none of them is not shown."""
    return next((answer for answer in State if answer.value == value), State.NOT_SHOWN)


def codes(value: Any) -> list[str]:
    """Return those items of a list that are five-unit codes."""
    return [code for code in each(value) if isinstance(code, str) and len(code) == 5 and set(code) <= {"0", "1"}]
