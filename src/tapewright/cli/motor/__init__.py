"""`tapewright motor`: what turns the machine. To add a command, add a line."""

import click

from tapewright.cli.lazy_group import CommandTable, lazy

COMMANDS: CommandTable = {
    "train": ("tapewright.cli.motor.train:train", "Motor speed to unit length and back, in exact fractions."),
    "pinion": ("tapewright.cli.motor.pinion:pinion", "Which pinion another mains frequency or speed needs."),
    "makeshift": ("tapewright.cli.motor.makeshift:makeshift", "What a makeshift drive must turn at; is it steady?"),
    "speed": ("tapewright.cli.motor.speed:speed", "Strobe, tachometer, stopwatch: the speed, and whether they agree."),
    "supply": ("tapewright.cli.motor.supply:supply", "Bring the motor to speed through its supply, or by hand."),
}


@click.group(cls=lazy(COMMANDS))
def motor() -> None:
    """Drive-train arithmetic, and ways to prove and to set the speed."""
