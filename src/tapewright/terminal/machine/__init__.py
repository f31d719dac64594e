"""`tapewright machine`: the machines of the book. To add a command, add a line."""

import click

from tapewright.furniture.command import CommandTable, lazy

COMMANDS: CommandTable = {
    "add": ("terminal.machine.shelf:add", "Begin the record of a machine."),
    "list": ("terminal.machine.shelf:list_machines", "The machines of the book."),
    "log": ("terminal.machine.log:log", "Write a line: found, taken apart, changed, checked, seen."),
    "history": ("terminal.machine.history:history", "The lines about a machine, newest first."),
    "line": ("terminal.machine.history:line", "One line, whole."),
    "assembly": ("terminal.machine.history:assembly", "The disassembly log backwards."),
    "show": ("terminal.machine.shelf:show", "What is known of a machine."),
    "compare": ("terminal.machine.compare:compare", "Two machines side by side, or one as found and as left."),
    "plan": ("terminal.machine.prove:plan", "The tests that a proof asks for, and what of them is done."),
    "prove": ("terminal.machine.prove:prove", "Write the proof of a machine."),
}


@click.group(cls=lazy(COMMANDS))
def machine() -> None:
    """Keep the record of each machine, from as-found to as-left."""
