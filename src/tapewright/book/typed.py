"""Fields typed as FIELD=VALUE, turned into the body of a line."""

import json
from collections.abc import Callable, Iterable
from difflib import get_close_matches
from math import isfinite
from typing import Any

from tapewright.book.bodies import FIELDS, FORMS, Field


def kind_named(words: str) -> str:
    """Return the kind that somebody means; a hyphen stands for a blank.

    Raises:
        ValueError: when there is none; names the nearest.
    """
    kind = words.replace("-", " ").lower()
    if kind in FIELDS:
        return kind
    near = get_close_matches(kind, FIELDS, 3) or list(FIELDS)
    raise ValueError(f"{words!r} is no kind of line; there is {', '.join(near)}")


def body_from(kind: str, words: Iterable[str]) -> dict[str, Any]:
    """Make a body from FIELD=VALUE words; a field of texts may stand several times.

    Raises:
        ValueError: names the field, what was expected and what was found.
    """
    fields = {field.name: field for field in FIELDS[kind]}
    body: dict[str, Any] = {}
    for word in words:
        name, equals, value = word.partition("=")
        if not equals or name not in fields:
            near = get_close_matches(name, fields, 1)
            hint = f"; did you mean {near[0]!r}" if near and near[0] != name else ""
            raise ValueError(f"{word!r} is no FIELD=VALUE of kind {kind!r}, which has {', '.join(fields)}{hint}")
        field = fields[name]
        if field.form == "texts":
            body.setdefault(name, []).append(value)
        elif name in body:
            raise ValueError(f"{name!r} is said twice")
        else:
            body[name] = _value(field, value)
    return body


def _value(field: Field, text: str) -> Any:
    try:
        return READERS[field.form](text)
    except ValueError:
        raise ValueError(f"{field.name!r} holds {FORMS[field.form][1]}: {field.says}; found {text!r}") from None


def _number(text: str) -> float:
    # a comma for the decimals is what many people type
    number = float(text.replace(",", "."))
    if not isfinite(number):
        raise ValueError(text)
    return int(number) if number.is_integer() and abs(number) < 2**53 and "." not in text else number


def _reading(text: str) -> float | str:
    try:
        return _number(text)
    except ValueError:
        return text


def _yes_or_no(text: str) -> bool:
    words = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
    if text.lower() not in words:
        raise ValueError(text)
    return words[text.lower()]


READERS: dict[str, Callable[[str], Any]] = {
    "text": str,
    "signal": str,
    "word": str,
    "number": _number,
    "reading": _reading,
    "yes or no": _yes_or_no,
    "table": json.loads,
    "list": json.loads,
    "files": json.loads,
}
