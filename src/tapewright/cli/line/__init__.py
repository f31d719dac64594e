"""`tapewright line`: what is done with a line signal. To add a command, add a line."""

import click

from tapewright.cli.lazy_group import CommandTable, lazy

COMMANDS: CommandTable = {
    "read": ("tapewright.cli.line.read:read", "Speed, text, and which contact is late by how much."),
    "watch": ("tapewright.cli.line.watch:watch", "Each key as it is struck, live."),
    "soak": ("tapewright.cli.line.soak:soak", "Hours of a known text: errors with the bound so far, drift, ripple."),
    "compose": ("tapewright.cli.line.compose:compose", "Write a test signal, ideal or with known faults."),
    "send": ("tapewright.cli.line.send:send", "Send a test signal to sound, serial port, file or practice machine."),
    "margin": ("tapewright.cli.line.margin:margin", "A receiver's orientation range, in the fewest questions."),
}


@click.group(cls=lazy(COMMANDS))
def line() -> None:
    """Read a line signal; watch one live; compose or send a test signal."""
