"""`tapewright motor`: what turns the machine. To add a command, add a line."""

import click

from tapewright.furniture.command import CommandTable, lazy

COMMANDS: CommandTable = {
    "train": ("motor.train_command:train", "Motor speed to unit length and back, in exact fractions."),
    "pinion": ("motor.train_command:pinion", "Which pinion another mains frequency or speed needs."),
    "makeshift": ("motor.train_command:makeshift", "What a makeshift drive must turn at; is it steady?"),
    "speed": ("motor.speed_command:speed", "Strobe, tachometer, stopwatch: the speed, and whether they agree."),
    "supply": ("motor.supply_command:supply", "Bring the motor to speed through its supply, or by hand."),
}


@click.group(cls=lazy(COMMANDS))
def motor() -> None:
    """Drive-train arithmetic, and ways to prove and to set the speed."""
