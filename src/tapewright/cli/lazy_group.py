"""A click group that imports a command only when it is used, so that `--help` stays quick."""

import importlib
from collections.abc import Mapping
from typing import ClassVar

import click

#: name of a command -> (module:attribute where it lives, one line of help)
CommandTable = Mapping[str, tuple[str, str]]


class LazyGroup(click.Group):
    """A group whose commands stand in a table; make one with `click.group(cls=lazy(TABLE))`."""

    table: ClassVar[CommandTable] = {}

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Give the commands in the order of the table."""
        return list(self.table)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and give one command, or None when there is no such command."""
        if cmd_name not in self.table:
            return None
        module, _, name = self.table[cmd_name][0].partition(":")
        command: click.Command = getattr(importlib.import_module(module), name)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, text) for name, (_, text) in self.table.items()])


def lazy(commands: CommandTable) -> type[LazyGroup]:
    """Give the class of a group with these commands."""
    return type("TableGroup", (LazyGroup,), {"table": commands, "__doc__": LazyGroup.__doc__})
