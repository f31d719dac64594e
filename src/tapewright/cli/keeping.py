"""`--machine`, `--book` and what was noted of the measuring: options that write a result into the book."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.parameters import Number
from tapewright.core.book.kinds import PHASES
from tapewright.errors import WrongUseError

#: options that say how it was measured; they make sense only with --machine
NOTED = ("phase", "by", "instrument", "temperature_c", "running_minutes", "supply_percent", "keyed", "note")


@dataclass(frozen=True, slots=True)
class Keeping:
    """Where a result goes, and what was noted of the measuring."""

    machine: str
    book: str | None
    noted: Mapping[str, Any]


def keep_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options to a click command; they come as `keep`, None when nothing is to be kept."""

    @wraps(command)
    def with_keeping(*args: Any, **said: Any) -> Any:
        return command(*args, keep=_keeping(said), **said)

    return _noted_options(machine_option(book_option(with_keeping)))


def machine_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add `--machine` to a click command."""
    return click.option("--machine", metavar="NAME", help="Keep the result in the book, under this machine.")(command)


def _noted_options(command: Callable[..., Any]) -> Callable[..., Any]:
    options = (
        click.option("--phase", type=click.Choice(PHASES), help="With --machine: when in the restoration."),
        click.option("--by", help="With --machine: who measured."),
        click.option("--instrument", help="With --machine: measured with what."),
        click.option("--temperature", "temperature_c", type=Number(-60, 90), help="With --machine: of the room, °C."),
        click.option("--running", "running_minutes", type=Number(0, 1e6),
                     help="With --machine: minutes the machine had been running."),
        click.option("--supply-percent", type=Number(-100, 100),
                     help="With --machine: supply against its nominal value; 0 is nominal, -10 ten per cent low."),
        click.option("--keyed", type=click.Choice(["hand", "tape", "signal"]),
                     help="With --machine: what set the pace."),
        click.option("--note", help="With --machine: anything else."),
    )  # fmt: skip
    for option in reversed(options):
        command = option(command)
    return command


def _keeping(said: dict[str, Any]) -> Keeping | None:
    machine, book = said.pop("machine"), said.pop("book")
    noted = {key: value for key in NOTED if (value := said.pop(key)) is not None}
    if machine is None:
        if noted:
            names = ", ".join(f"--{_option(key)}" for key in noted)
            raise WrongUseError(f"{names}: say with --machine NAME whose record it goes into.")
        return None
    return Keeping(machine, book, noted)


def _option(key: str) -> str:
    """Give the option's name as it is typed."""
    return key.removesuffix("_c").removesuffix("_minutes").replace("_", "-")


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
    from tapewright.wiring import keep_in_book

    name, entry = keep_in_book(keep.book, keep.machine, document(), files, command, settings, keep.noted)
    click.echo(f"In the book of {name}: {entry.key[:12]}, line {entry.number}.", err=quiet)
