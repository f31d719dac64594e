"""`tapewright book`: what is done with a whole book. To add a command, add a line."""

import click

from tapewright.cli.lazy_group import CommandTable, lazy

COMMANDS: CommandTable = {
    "export": ("tapewright.cli.book.export:export", "A machine, or the whole book, as a bundle."),
    "check": ("tapewright.cli.book.check:check", "Whether the book is whole; if not, what is, and how to save it."),
    "backup": ("tapewright.cli.book.backup:backup", "A copy of the book, made while others write to it."),
    "restore": ("tapewright.cli.book.restore:restore", "Put a backup in the place of the book."),
    "recompute": ("tapewright.cli.book.recompute:recompute", "Measure old evidence again: what comes out differently."),
    "import": ("tapewright.cli.book.take_in:take_in", "Take a bundle in: everything checked, all or nothing."),
}


@click.group(cls=lazy(COMMANDS))
def book() -> None:
    """Carry a book to another bench, keep a copy of it, see whether it is whole."""
