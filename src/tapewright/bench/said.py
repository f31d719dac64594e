"""Fields of a form as numbers, or a refusal that names the field."""

import math
from collections.abc import Mapping

from tapewright.alphabets import ALPHABETS, encode
from tapewright.errors import InputError

#: 45.45 stands for 1000/22 exactly, as the trade means it
SHORT_FOR = {"45.45": 1000 / 22, "45,45": 1000 / 22, "45.5": 1000 / 22, "45": 1000 / 22}


def number(said: Mapping[str, str], field: str, low: float, high: float) -> float | None:
    """Return a number between two ends, None when the field is empty; a decimal comma will do.

    Raises:
        InputError: on anything else.
    """
    text = said.get(field, "").strip()
    if not text or text == "auto":
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        wanted = f"a number from {low:g} to {high:g}, or nothing"
        raise InputError("the form", place=f"field {field!r}", expected=wanted, found=repr(text[:40]))
    return value


def nominal_baud(said: Mapping[str, str]) -> float | None:
    """Return the nominal speed, None to take the nearest."""
    text = said.get("nominal", "").strip()
    return SHORT_FOR.get(text) or number(said, "nominal", 10, 400)


def alphabet_name(said: Mapping[str, str]) -> str:
    """Return the alphabet's name; ITA2 when none is named.

    Raises:
        InputError: for a name nobody knows.
    """
    name = said.get("alphabet", "").strip() or "ita2"
    if name not in ALPHABETS:
        raise InputError(
            "the form", place="field 'alphabet'", expected=f"one of {', '.join(ALPHABETS)}", found=repr(name[:40])
        )
    return name


def sent(said: Mapping[str, str]) -> str | None:
    """Return the text that was sent, its ends of line as the machine has them; None when none was given.

    Raises:
        InputError: when the alphabet cannot send it.
    """
    text = "\r\n".join(said.get("expect", "").replace("\r\n", "\n").replace("\r", "\n").split("\n"))
    if not text:
        return None
    letters = ALPHABETS[alphabet_name(said)]
    try:
        encode(text, letters)
    except ValueError as reason:
        raise InputError(
            "the form", place="the text sent", expected=f"characters of {letters.name}", found=str(reason)
        ) from reason
    return text
