"""`tapewright tape`: read a picture of punched tape, draw a tape, take a practice picture."""

import click

from tapewright.cli.lazy_group import lazy

COMMANDS = {
    "read": ("tapewright.cli.tape.read:read", "A picture of punched tape: text, every hole, feed, the part at fault."),
    "draw": ("tapewright.cli.tape.draw:draw", "A tape 1:1, to lay beside a real one."),
    "practice": ("tapewright.cli.tape.practice:practice", "A picture of tape from the practice machine's punch."),
}


@click.group(cls=lazy(COMMANDS))
def tape() -> None:
    """Read, draw and practise with punched tape."""
