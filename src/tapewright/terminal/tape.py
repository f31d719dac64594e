"""`tapewright tape`: read a picture of punched tape, draw a tape, take a practice picture."""

import click

from tapewright.furniture.command import lazy

COMMANDS = {
    "read": ("tape.command:read", "A picture of punched tape: text, every hole, feed, the part at fault."),
    "draw": ("tape.command:draw", "A tape 1:1, to lay beside a real one."),
    "practice": ("practice.tape_command:practice", "A picture of tape from the practice machine's punch."),
}


@click.group(cls=lazy(COMMANDS))
def tape() -> None:
    """Read, draw and practise with punched tape."""
