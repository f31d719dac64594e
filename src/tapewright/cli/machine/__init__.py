"""`tapewright machine`: the machines of the book. To add a command, add a line."""

import click

from tapewright.cli.lazy_group import CommandTable, lazy

COMMANDS: CommandTable = {
    "add": ("tapewright.cli.machine.shelf:add", "Begin the record of a machine."),
    "list": ("tapewright.cli.machine.shelf:list_machines", "The machines of the book."),
    "log": ("tapewright.cli.machine.log:log", "Write a line: found, taken apart, changed, checked, seen."),
    "history": ("tapewright.cli.machine.history:history", "The lines about a machine, newest first."),
    "line": ("tapewright.cli.machine.history:line", "One line, whole."),
    "assembly": ("tapewright.cli.machine.history:assembly", "The disassembly log backwards."),
    "show": ("tapewright.cli.machine.show:show", "What is known of a machine."),
    "compare": ("tapewright.cli.machine.compare:compare", "Two machines side by side, or one as found and as left."),
    "plan": ("tapewright.cli.machine.prove:plan", "The tests that a proof asks for, and what of them is done."),
    "prove": ("tapewright.cli.machine.prove:prove", "Write the proof of a machine."),
}


@click.group(cls=lazy(COMMANDS))
def machine() -> None:
    """Keep the record of each machine, from as-found to as-left."""
