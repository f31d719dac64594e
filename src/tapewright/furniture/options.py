"""The options of a command, made from its settings; beside them the option types of commands that have no record yet.

@click_options(LineSettings)
def read(file: Path, settings: LineSettings, ...) -> int: ...
"""

import math
import os
from collections.abc import Callable
from dataclasses import replace
from functools import wraps
from pathlib import Path
from typing import Any, TypeVar

import click
from click.shell_completion import CompletionItem

from tapewright.errors import InputError
from tapewright.furniture.kinds import Flag, Kind, Numbers, Several, Text
from tapewright.furniture.settings import RefusedError, Setting, Settings, refusing, settings_in

Command = TypeVar("Command", bound=Callable[..., Any])

LONGEST_TEXT_BYTES = 10_000_000


class File(Kind[Path]):
    """A file of this computer; a form cannot name one."""

    expected, asked, metavar = "the name of a file", "", "FILE"

    def read(self, given: object) -> Path:
        """Return its place."""
        if not isinstance(given, str | os.PathLike) or not os.fspath(given):
            raise self.refusal(given)
        return Path(os.fsdecode(given))

    def kept(self, value: Path) -> object:
        """Return its name alone: the folders of one bench are nobody else's business."""
        return value.name


class OptionType(click.ParamType[Any]):
    """A kind of setting as click takes it: the words of a refusal are the setting's own."""

    def __init__(self, part: Setting, kind: Kind[Any]) -> None:
        """Take the kind of this setting, or of one of its several values."""
        self.part, self.kind, self.name = part, kind, part.metavar or kind.metavar or "text"

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:
        """Return what stands for the value in the help."""
        return self.name

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the value, or say what was expected."""
        if isinstance(self.kind, Text) and self.kind.from_file and isinstance(value, str):
            value = text_argument(value)
        if value is self.part.default or value == self.part.unset:
            return self.part.default
        try:
            return replace(self.part, kind=self.kind).read(value)
        except RefusedError as refused:
            self.fail(str(refused), param, ctx)

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem]:
        """Offer words that can stand there."""
        kind = "file" if isinstance(self.kind, File) else "plain"
        words = [incomplete] if kind == "file" else [word for word in self.kind.words if word.startswith(incomplete)]
        return [CompletionItem(word, type=kind) for word in words]


def click_options(kind: type[Settings]) -> Callable[[Command], Command]:
    """Return what adds the options of a record to a click command, which gets the record as `settings`."""

    def add(command: Command) -> Command:
        @wraps(command)
        def with_settings(*args: Any, **given: Any) -> Any:
            typed = {each.name: given.pop(each.name) for each in settings_in(kind)}
            with refusing(kind, _refusal):
                settings = kind(**typed)
            return command(*args, settings=settings, **given)

        decorated: Any = with_settings
        for each in reversed(settings_in(kind)):
            decorated = _option(each)(decorated)
        return decorated  # type: ignore[no-any-return]

    return add


def _refusal(part: Setting, refused: RefusedError) -> Exception:
    return click.BadParameter(str(refused), param_hint=f"'{part.option[-1]}'")


def _option(part: Setting) -> Callable[[Any], Any]:
    if isinstance(part.kind, Flag):
        return click.option(*part.option, part.name, is_flag=True, help=part.help)
    kind: Kind[Any] = part.kind
    default, words = part.default, 1
    if isinstance(kind, Numbers) and kind.apart:
        words, kind = kind.least, kind.each
    elif isinstance(kind, Several):
        kind = kind.each
    else:
        default = part.unset or None if default is None else part.write(default)
    return click.option(
        *part.option,
        part.name,
        type=OptionType(part, kind),
        default=default,
        multiple=isinstance(part.kind, Several),
        nargs=words,
        show_default=part.show_default,
        help=part.help,
        metavar=part.metavar or None,
    )


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
