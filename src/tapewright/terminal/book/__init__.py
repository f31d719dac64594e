"""`tapewright book`: what is done with a whole book. To add a command, add a line."""

import click

from tapewright.furniture.command import CommandTable, lazy

COMMANDS: CommandTable = {
    "export": ("terminal.book.commands:export", "A machine, or the whole book, as a bundle."),
    "check": ("terminal.book.commands:check", "Whether the book is whole; if not, what is, and how to save it."),
    "backup": ("terminal.book.commands:backup", "A copy of the book, made while others write to it."),
    "restore": ("terminal.book.commands:restore", "Put a backup in the place of the book."),
    "recompute": ("terminal.book.commands:recompute", "Measure old evidence again: what comes out differently."),
    "bench": ("terminal.book.commands:bench", "The key that this bench signs with, and the benches it knows."),
    "import": ("terminal.book.commands:take_in", "Take a bundle in: everything checked, all or nothing."),
}


@click.group(cls=lazy(COMMANDS))
def book() -> None:
    """Carry a book to another bench, keep a copy of it, see whether it is whole."""
