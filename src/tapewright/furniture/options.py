"""Kinds of option values that several commands share."""

import math
from pathlib import Path
from typing import Any

import click

from tapewright.errors import InputError

LONGEST_TEXT_BYTES = 10_000_000


class Number(click.ParamType[Any]):
    """A finite number between two ends, both allowed."""

    name = "number"

    def __init__(self, low: float = -math.inf, high: float = math.inf) -> None:
        """Allow numbers from `low` to `high`."""
        self.low, self.high = low, high

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Return the number, or say what was expected."""
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not (math.isfinite(number) and self.low <= number <= self.high):
            self.fail(f"{value!r}: expected {self}.", param, ctx)
        return number

    def __str__(self) -> str:
        """Say what is allowed."""
        ends = [(self.low, "at least"), (self.high, "at most")]
        limits = " and ".join(f"{word} {end:g}" for end, word in ends if math.isfinite(end))
        return f"a number of {limits}" if limits else "a number"


class NamedNumber(click.ParamType[Any]):
    """NAME=NUMBER, where the name is one of a few; a number alone is for the name `alone`."""

    name = "name=number"

    def __init__(self, names: tuple[str, ...], number: Number, alone: str | None = None) -> None:
        """Allow these names with such a number."""
        self.names, self.number, self.alone = names, number, alone

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, float]:
        """Return name and number, or say what was expected."""
        if isinstance(value, tuple):
            return value
        name, equals, number = str(value).rpartition("=")
        name = name if equals else self.alone or ""
        if name not in self.names:
            self.fail(f"{value!r}: expected NAME=NUMBER with a name out of {', '.join(self.names)}.", param, ctx)
        return name, self.number.convert(number, param, ctx)


class NamedWord(click.ParamType[Any]):
    """NAME=WORD, both out of a few."""

    name = "name=word"

    def __init__(self, names: tuple[str, ...], words: tuple[str, ...]) -> None:
        """Allow these names with these words."""
        self.names, self.words = names, words

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[str, str]:
        """Return name and word, or say what was expected."""
        if isinstance(value, tuple):
            return value
        name, _, word = str(value).partition("=")
        if name not in self.names or word not in self.words:
            names, words = ", ".join(self.names), ", ".join(self.words)
            self.fail(f"{value!r}: expected NAME=WORD, a name of {names} and a word of {words}.", param, ctx)
        return name, word


def files_given(**files: Path | None) -> dict[str, Path]:
    """Return the files that were given, by what they are."""
    return {role: path for role, path in files.items() if path is not None}


def text_argument(value: str) -> str:
    """Return the text itself, or that of a file for `@FILE`, whole: every end of line becomes CR LF, the last one too.

    How much was taken from a file is said on standard error, because an editor's last line end is easily forgotten.

    Raises:
        InputError: when the file is too long or is not text.
    """
    if not value.startswith("@") or len(value) == 1:
        return value
    path = Path(value[1:])
    if path.stat().st_size > LONGEST_TEXT_BYTES:
        raise InputError(path.name, expected=f"a text of at most {LONGEST_TEXT_BYTES} bytes", found="a longer file")
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as reason:
        place, found = f"byte {reason.start}", f"the byte {reason.object[reason.start]}"
        raise InputError(path.name, place=place, expected="text in UTF-8", found=found) from reason
    text = "\r\n".join(text.replace("\r\n", "\n").replace("\r", "\n").split("\n"))
    end = "the last of them a line end (CR LF)" if text.endswith("\n") else "without a line end after the last"
    click.echo(f"{path.name}: {len(text)} characters, {end}.", err=True)
    return text
