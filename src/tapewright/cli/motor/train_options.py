"""Options that say what turns what: gears, belts, units a turn, modulation rate."""

import re
from fractions import Fraction
from typing import Any

import click

from tapewright.core.motor.drive_train import EXACT_BAUD, Stage, Train, usual_units
from tapewright.errors import WrongUseError

PLAIN = re.compile(r"\d{1,9}(?:[.,]\d{1,9})?(?:/\d{1,9})?")
LARGEST = 10**7


class Exact(click.ParamType[Fraction]):
    """A positive number taken exactly as it is written: 15, 7.42 or 22/3."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        """Give the fraction, or say what was expected."""
        if isinstance(value, Fraction):
            return value
        text = str(value).strip()
        try:
            number = Fraction(text.replace(",", ".")) if PLAIN.fullmatch(text) else Fraction(0)
        except (ValueError, ZeroDivisionError):
            number = Fraction(0)
        if not 0 < number <= LARGEST:
            self.fail(f"{text!r}: expected a number above 0 such as 15, 7.42 or 22/3.", param, ctx)
        return number


class Baud(Exact):
    """A modulation rate; 45.45 stands for a unit of 22 ms exactly, as the trade means it."""

    name = "baud"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        """Give the rate."""
        known = EXACT_BAUD.get(str(value).replace(",", "."))
        return known or super().convert(value, param, ctx)


class TwoWheels(click.ParamType[Stage]):
    """DRIVER:DRIVEN, teeth or diameters."""

    name = "driver:driven"

    def __init__(self, *, belt: bool) -> None:
        """Make a stage with a smooth belt, or with teeth."""
        self.belt = belt

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Stage:
        """Give the stage, or say what was expected."""
        if isinstance(value, Stage):
            return value
        parts = str(value).split(":")
        what = "diameters, as in 40:120" if self.belt else "teeth, as in 14:60"
        if len(parts) != 2:
            self.fail(f"{value!r}: expected DRIVER:DRIVEN in {what}.", param, ctx)
        driver, driven = (Exact().convert(part, param, ctx) for part in parts)
        if not self.belt and (driver.denominator, driven.denominator) != (1, 1):
            self.fail(f"{value!r}: teeth are whole numbers, as in 14:60.", param, ctx)
        return Stage(driver, driven, self.belt)


TRAIN_OPTIONS = (
    click.option("--gears", type=TwoWheels(belt=False), multiple=True, metavar="A:B",
                 help="Teeth of two wheels, the one nearer to the motor first; toothed belts too. Repeat for each."),
    click.option("--belt", "belts", type=TwoWheels(belt=True), multiple=True, metavar="A:B",
                 help="Diameters of two pulleys of a smooth belt (add the belt's thickness to each)."),
    click.option("--units", type=Exact(), metavar="U",
                 help="Units of the line while the cam shaft turns once. [default: 7.42 or 7.5, by rate]"),
    click.option("--baud", type=Baud(), default="45.45", show_default=True,
                 help="Rate it should have; 45.45 is a unit of 22 ms exactly."),
)  # fmt: skip


def train_options(command: Any) -> Any:
    """Add them all to a click command."""
    for option in reversed(TRAIN_OPTIONS):
        command = option(command)
    return command


def train_of(said: dict[str, Any]) -> Train:
    """Build the train that was described."""
    units = said["units"] or usual_units(said["baud"])
    if units < 2:
        raise WrongUseError(f"--units: a character has 7 units or more, not {float(units):g}.")
    return Train((*said["gears"], *said["belts"]), units)
