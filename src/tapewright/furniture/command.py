"""A click group that imports a command only when it is used, so that `--help` stays quick.

What every command shares: `--json`, exit codes from verdicts, progress on anything over a second.
"""

import importlib
import json
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any, ClassVar, TypeVar

import click

from tapewright.number.verdict import State, Verdict

_Command = TypeVar("_Command", bound=Callable[..., Any])

DONE, OUTSIDE, NOT_SHOWN = 0, 1, 3
SHOW_PROGRESS_AFTER_S = 1.0


def json_option(command: _Command) -> _Command:
    """Add `--json` to a click command."""
    option = click.option("--json", "as_json", is_flag=True, help="One JSON document on standard output.")
    return option(command)


def write_json(document: dict[str, Any]) -> None:
    """Write one JSON document to standard output; NaN is refused because JSON has none."""
    click.echo(json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False))


def exit_code(verdicts: Iterable[Verdict]) -> int:
    """Return 1 if anything is outside, else 3 if anything is not shown, else 0 (contract)."""
    states = {verdict.state for verdict in verdicts}
    return OUTSIDE if State.OUTSIDE in states else NOT_SHOWN if State.NOT_SHOWN in states else DONE


@contextmanager
def progress(what: str) -> Iterator[Callable[[float], None]]:
    """Return a function that takes the fraction done (0 to 1); a bar appears on standard error after a second."""
    started = time.monotonic()
    bar: Any = None
    task: Any = None

    def report(fraction: float) -> None:
        nonlocal bar, task
        if bar is None:
            if time.monotonic() - started < SHOW_PROGRESS_AFTER_S or not sys.stderr.isatty():
                return
            from rich.console import Console
            from rich.progress import Progress

            bar = Progress(console=Console(stderr=True), transient=True)
            task = bar.add_task(what, total=1.0)
            bar.start()
        bar.update(task, completed=fraction)

    try:
        yield report
    finally:
        if bar is not None:
            bar.stop()


#: name of a command -> (module:attribute where it lives, one line of help)
CommandTable = Mapping[str, tuple[str, str]]


class LazyGroup(click.Group):
    """A group whose commands stand in a table; make one with `click.group(cls=lazy(TABLE))`."""

    table: ClassVar[CommandTable] = {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the commands in the order of the table."""
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and give one command, or None when there is no such command."""
        if cmd_name not in self.table:
            return None
        module, _, name = self.table[cmd_name][0].partition(":")
        command: click.Command = getattr(importlib.import_module(f"tapewright.{module}"), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in self.table.items()])


def lazy(commands: CommandTable) -> type[LazyGroup]:
    """Return the class of a group with these commands."""
    return type("TableGroup", (LazyGroup,), {"table": commands, "__doc__": LazyGroup.__doc__})
