"""`tapewright motor makeshift`: what a drill or geared motor must turn at, and what it is good for.

`--within`: how far a speed may be out, and where that limit comes from.

Options that say what turns what: gears, belts, units a turn, modulation rate.

`tapewright motor train`: from motor speed to unit length and back, in exact fractions.

`tapewright motor pinion`: which teeth another mains frequency, motor or modulation rate needs.
"""

import re
from fractions import Fraction
from typing import Any

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.command import DONE, exit_code, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result, settings_of
from tapewright.furniture.options import Number
from tapewright.motor.drive_train import EXACT_BAUD, Stage, Train, synchronous_rpm, usual_units
from tapewright.number import Limit, Reading, Source, Standing


def within_option(command: Any) -> Any:
    """Add `--within` to a click command."""
    told = "Your own limit for the speed, per cent either way. [default: 0.75, ITU-T S.3]"
    return click.option("--within", type=Number(1e-6, 50), metavar="P", help=told)(command)


def speed_limit(within_percent: float | None) -> Limit:
    """Return the owner's limit, or the one from the standard (from memory, and marked so)."""
    from tapewright.reference.itu_t_s3 import SPEED_ERROR

    if within_percent is None:
        return SPEED_ERROR
    return Limit("speed error", -within_percent, within_percent, "percent", Source("--within", "", Standing.OWNER))


PLAIN = re.compile(r"\d{1,9}(?:[.,]\d{1,9})?(?:/\d{1,9})?")
LARGEST = 10**7


class Exact(click.ParamType[Fraction]):
    """A positive number taken exactly as it is written: 15, 7.42 or 22/3."""

    name = "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Fraction:
        """Return the fraction, or say what was expected."""
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
        """Return the rate."""
        known = EXACT_BAUD.get(str(value).replace(",", "."))
        return known or super().convert(value, param, ctx)


class TwoWheels(click.ParamType[Stage]):
    """DRIVER:DRIVEN, teeth or diameters."""

    name = "driver:driven"

    def __init__(self, *, belt: bool) -> None:
        """Make a stage with a smooth belt, or with teeth."""
        self.belt = belt

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Stage:
        """Return the stage, or say what was expected."""
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


@click.command()
@train_options
@click.option("--rpm", type=Exact(), help="Speed of the motor, turns a minute.")
@click.option("--mains", type=Exact(), metavar="HZ", help="Or: it is synchronous, on mains of this frequency,")
@click.option("--poles", type=click.IntRange(2, 48), default=4, show_default=True, help="with so many poles.")
@click.option("--slip", type=Number(0, 50), default=0.0, help="An induction motor slips so many per cent behind that.")
@click.option("--doubt", type=Number(0, 50), default=0.0, metavar="P",
              help="Standard uncertainty of the motor's speed, per cent.")  # fmt: skip
@within_option
@keep_options
@json_option
def train(keep: Keeping | None, as_json: bool, **said: Any) -> int:
    """Say what the motor must turn at for a modulation rate, and what rate a motor speed gives.

    Example: tapewright motor train --gears 14:60 --rpm 1800
    """
    from tapewright.motor.train_report import train_document, train_words
    from tapewright.motor.train_result import result_of

    result = result_of(
        train_of(said), said["baud"], _motor_rpm(said), said["doubt"], speed_limit(said["within"])
    )
    document = train_document(result)
    if as_json:
        write_json(document)
    else:
        click.echo(train_words(result))
    keep_result(keep, lambda: document, {}, "motor train", settings_of(said), quiet=as_json)
    return exit_code([result.verdict]) if result.verdict else DONE


def _motor_rpm(said: dict[str, Any]) -> Fraction | None:
    if said["mains"] is None:
        rpm: Fraction | None = said["rpm"]
        return rpm
    if said["rpm"] is not None:
        raise WrongUseError("Give either --rpm or --mains with --poles: one of them says how fast the motor turns.")
    if said["poles"] % 2:
        raise WrongUseError(f"--poles: a motor has an even number of poles, not {said['poles']}.")
    return synchronous_rpm(said["mains"], said["poles"]) * (1 - Fraction(str(said["slip"])) / 100)


MOST_TEETH = 2000
FACTOR_MOST = 10


@click.command()
@click.option("--gears", type=TwoWheels(belt=False), required=True, metavar="A:B",
              help="Teeth of the pair to change, pinion (nearer to the motor) first.")  # fmt: skip
@click.option("--from-mains", type=Exact(), metavar="HZ", help="Mains of the synchronous motor as the gears are cut.")
@click.option("--to-mains", type=Exact(), metavar="HZ", help="Mains it is to run on.")
@click.option("--from-rpm", type=Exact(), help="Or the motor's speed as the gears are cut,")
@click.option("--to-rpm", type=Exact(), help="and that of the motor to be fitted.")
@click.option("--from-baud", type=Baud(), help="Rate as the gears are cut.")
@click.option("--to-baud", type=Baud(), help="Rate it is to have.")
@within_option
@keep_options
@json_option
def pinion(keep: Keeping | None, as_json: bool, **said: Any) -> int:
    """Find the nearest whole teeth for another mains frequency, motor or speed, and what is left over.

    Example: tapewright motor pinion --gears 14:60 --from-mains 60 --to-mains 50
    """
    from tapewright.motor.pinion import judge_pairs, pairs
    from tapewright.motor.train_report import pinion_document, pinion_words

    stage: Stage = said["gears"]
    if max(stage.driver, stage.driven) > MOST_TEETH:
        raise WrongUseError(f"--gears: at most {MOST_TEETH} teeth.")
    factor = _factor(said)
    found = judge_pairs(pairs(int(stage.driver), int(stage.driven), factor), speed_limit(said["within"]))
    document = pinion_document(stage, factor, found)
    if as_json:
        write_json(document)
    else:
        click.echo(pinion_words(stage, factor, found))
    best = min(found, key=lambda f: abs(f[0].residual), default=None)
    keep_result(keep, lambda: document, {}, "motor pinion", settings_of(said), quiet=as_json)
    return exit_code([best[1]]) if best else 1


def _factor(said: dict[str, Any]) -> Fraction:
    """Return how many times faster the pair has to be."""
    ratios = [_ratio(said, name) for name in ("mains", "rpm", "baud")]
    if not any(ratios):
        raise WrongUseError("Say what changes: --from-mains and --to-mains, --from-rpm and --to-rpm, or the two bauds.")
    if ratios[0] and ratios[1]:
        raise WrongUseError("Give either the mains frequencies or the motor speeds: both say how fast the motor turns.")
    motor = ratios[0] or ratios[1] or Fraction(1)
    factor = (ratios[2] or Fraction(1)) / motor
    if not Fraction(1, FACTOR_MOST) <= factor <= FACTOR_MOST:
        times = f"{float(factor):.3g} times"
        raise WrongUseError(f"That is a change of speed by {times}; one pair of wheels does not do that.")
    return factor


def _ratio(said: dict[str, Any], name: str) -> Fraction | None:
    old, new = said[f"from_{name}"], said[f"to_{name}"]
    if (old is None) != (new is None):
        raise WrongUseError(f"--from-{name} and --to-{name} go together.")
    return None if old is None or new is None else Fraction(new / old)


MOST_READINGS = 1000


@click.command()
@train_options
@click.option("--readings", metavar="RPM,RPM,...", help="What a tachometer showed, one after the other, under load.")
@click.option("--swing", type=Number(0, 100), metavar="P",
              help="Or: how far the speed swings one way, per cent, as `line read` finds it (ripple).")  # fmt: skip
@click.option("--swing-u", type=Number(0, 100), metavar="P", help="Its standard uncertainty.")
@click.option("--swing-hz", type=Number(0.001, 1e4), help="How often it swings; else the worst is taken, a slow swing.")
@click.option("--limit", type=Number(0.1, 50), metavar="P",
              help="Your limit for the instants, per cent of a unit. [default: 10, ITU-T S.3]")  # fmt: skip
@keep_options
@json_option
def makeshift(keep: Keeping | None, as_json: bool, **said: Any) -> int:
    """Say what a makeshift drive must turn at, and whether it is steady enough to judge timing by.

    --gears and --belt are the wheels between the drive and the cam shaft; none when it turns the cam shaft itself.
    Exit code 0: good enough for a verdict on timing; 1: for a test of function only; 3: not shown.

    Example: tapewright motor makeshift --belt 30:90 --readings 1105,1098,1110,1092
    """
    from tapewright.motor.train_report import makeshift_document, makeshift_words

    train, steadiness = train_of(said), _steadiness(said)
    document = makeshift_document(train, said["baud"], steadiness)
    if as_json:
        write_json(document)
    else:
        click.echo(makeshift_words(train, said["baud"], steadiness))
    keep_result(keep, lambda: document, {}, "motor makeshift", settings_of(said), quiet=as_json)
    return exit_code([steadiness.verdict])


def _steadiness(said: dict[str, Any]) -> Any:
    from tapewright.motor import steadiness

    unit_s = float(1 / said["baud"])
    limit = _limit(said["limit"])
    if said["readings"] is not None and said["swing"] is not None:
        raise WrongUseError("Give either --readings or --swing.")
    if said["readings"] is not None:
        return steadiness.from_readings(_numbers(said["readings"]), unit_s, limit)
    if said["swing"] is not None:
        no_u = "the standard uncertainty of the swing is not known (--swing-u)"
        swing = Reading(said["swing"], said["swing_u"], "percent", how=no_u)
        return steadiness.from_swing(swing, said["swing_hz"], unit_s, limit)
    return steadiness.unknown(limit)


def _limit(owner_percent: float | None) -> Limit:
    from tapewright.motor.steadiness import USUAL_LIMIT_PERCENT, USUAL_SOURCE, allowed

    if owner_percent is None:
        return allowed(USUAL_LIMIT_PERCENT, USUAL_SOURCE)
    return allowed(owner_percent, Source("--limit", "", Standing.OWNER))


def _numbers(text: str) -> list[float]:
    kind = Number(0.01, 1e6)
    numbers = [kind.convert(part.strip(), None, None) for part in text.replace(";", ",").split(",") if part.strip()]
    if not 2 <= len(numbers) <= MOST_READINGS:
        found = len(numbers)
        raise WrongUseError(f"--readings: expected 2 to {MOST_READINGS} numbers with commas between, found {found}.")
    return numbers
