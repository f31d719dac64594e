"""`--machine`, `--book` and what was noted of the measuring: options that write a result into the book.

`--book`: which book a command reads or writes.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any, TypeVar

import click
from click.core import ParameterSource

from tapewright.errors import WrongUseError
from tapewright.furniture.options import Number
from tapewright.furniture.phases import PHASES
from tapewright.furniture.record import Keeping, record

__all__ = ["Keeping", "book_option", "keep_cautions", "keep_for_options", "keep_options", "keep_result", "settings_of"]

_Command = TypeVar("_Command", bound=Callable[..., Any])

#: Stands in for `--book` where it is not given.
VARIABLE = "TAPEWRIGHT_BOOK"


def book_option(command: _Command) -> _Command:
    """Add `--book` to a click command; it comes as `book`, None for the user's own."""
    option = click.option(
        "--book", metavar="FILE|URL", envvar=VARIABLE,
        help=f"The book: a file, or postgresql://... [default: {VARIABLE}, else one in your data folder]",
    )  # fmt: skip
    return option(command)


#: options that say how it was measured; they make sense only with --machine
NOTED = ("phase", "by", "instrument", "temperature_c", "running_minutes", "supply_percent", "keyed", "note")


@dataclass(frozen=True, slots=True)
class _Flags:
    """What the options are called; a command that sends has a practice machine and a way of its own by these names."""

    machine: str = "--machine"
    by: str = "--by"


def keep_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options to a click command; they come as `keep`, None when nothing is to be kept."""
    return _keep_options(command, _Flags())


def keep_for_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the same to a command whose `--machine` is the practice machine that sends, and whose `--by` is taken."""
    return _keep_options(command, _Flags("--for", "--measured-by"))


def _keep_options(command: Callable[..., Any], flags: _Flags) -> Callable[..., Any]:
    @wraps(command)
    def with_keeping(*args: Any, **said: Any) -> Any:
        keep = _keeping(said, flags)
        if keep is not None:
            _known(keep)
        return command(*args, keep=keep, **said)

    told = "Keep the result in the book, under this machine."
    machine = click.option(flags.machine, "kept_for", metavar="NAME", help=told)
    return _noted_options(machine(book_option(with_keeping)), flags)


def _known(keep: Keeping) -> None:
    """Refuse a machine that the book does not know at once, not after hours of work."""
    record().machine_in_book(keep.book, keep.machine)


def _noted_options(command: Callable[..., Any], flags: _Flags) -> Callable[..., Any]:
    given = f"With {flags.machine}:"
    options = (
        click.option("--phase", type=click.Choice(PHASES), help=f"{given} when in the restoration."),
        click.option(flags.by, "measured_by", help=f"{given} who measured."),
        click.option("--instrument", help=f"{given} measured with what."),
        click.option("--temperature", "temperature_c", type=Number(-60, 90), help=f"{given} of the room, °C."),
        click.option("--running", "running_minutes", type=Number(0, 1e6),
                     help=f"{given} minutes the machine had been running."),
        click.option("--supply-percent", type=Number(-100, 100),
                     help=f"{given} supply against its nominal value; 0 is nominal, -10 ten per cent low."),
        click.option("--keyed", type=click.Choice(["hand", "tape", "signal"]),
                     help=f"{given} what set the pace."),
        click.option("--note", help=f"{given} anything else."),
    )  # fmt: skip
    for option in reversed(options):
        command = option(command)
    return command


def _keeping(said: dict[str, Any], flags: _Flags) -> Keeping | None:
    machine, book = said.pop("kept_for"), said.pop("book")
    noted = {key: value for key in NOTED if (value := said.pop("measured_by" if key == "by" else key)) is not None}
    if machine is None:
        names = [flags.by if key == "by" else f"--{_option(key)}" for key in noted]
        if book is not None and flags.machine != "--machine" and _typed("book"):
            names = ["--book", *names]
        if names:
            raise WrongUseError(f"{', '.join(names)}: say with {flags.machine} NAME whose record it goes into.")
        return None
    return Keeping(machine, book, noted)


def _typed(name: str) -> bool:
    return click.get_current_context().get_parameter_source(name) is ParameterSource.COMMANDLINE


def _option(key: str) -> str:
    """Return the option's name as it is typed."""
    return key.removesuffix("_c").removesuffix("_minutes").replace("_", "-")


def keep_cautions(keep: Keeping | None, cautions: Sequence[str], step: str) -> None:
    """Write down, before the step, that its cautions were read and taken on; one line for all of them."""
    if keep is None:
        return
    body = {"caution": " ".join(cautions), "step": step, "acknowledged": True}
    record().write_in_book(keep, "caution", body)


def settings_of(said: Mapping[str, Any]) -> dict[str, Any]:
    """Return what the user said as JSON can hold it; what was not said is left out."""
    return {name: _plain(value) for name, value in said.items()
            if not (value is None or value is False or value == () or value == "")}  # fmt: skip


def _plain(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    if isinstance(value, Path):
        return value.name  # the folders of one bench are nobody else's business
    return value if isinstance(value, bool | int | float) else str(value)


def keep_result(
    keep: Keeping | None,
    document: Callable[[], dict[str, Any]],
    files: Mapping[str, Path],
    command: str,
    settings: Mapping[str, Any],
    *,
    quiet: bool,
) -> None:
    """Write a result into the book, if that was asked for, and say where it went.

    Args:
        keep: where to; None for nowhere.
        document: makes the result document.
        files: the files it was made from, by what they are.
        command: the command that made it.
        settings: what the user said.
        quiet: whether standard output belongs to a JSON document.
    """
    if keep is None:
        return
    name, entry = record().keep_in_book(keep, document(), files, command, settings)
    click.echo(f"In the book of {name}: {entry.key[:12]}, line {entry.number}.", err=quiet)
