"""`tapewright line`: what is done with a line signal. To add a command, add a line."""

import click

from tapewright.furniture.command import CommandTable, lazy

COMMANDS: CommandTable = {
    "read": ("line.command:read", "Speed, text, and which contact is late by how much."),
    "watch": ("line.live.watch_command:watch", "Each key as it is struck, live."),
    "soak": ("line.live.soak_command:soak", "Hours of a known text: errors with the bound so far, drift, ripple."),
    "compose": ("sender.compose_command:compose", "Write a test signal, ideal or with known faults."),
    "send": ("sender.send_command:send", "Send a test signal to sound, serial port, file or practice machine."),
    "margin": ("margin.command:margin", "A receiver's orientation range, in the fewest questions."),
}


@click.group(cls=lazy(COMMANDS))
def line() -> None:
    """Read a line signal; watch one live; compose or send a test signal."""
