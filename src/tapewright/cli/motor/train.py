"""`tapewright motor train`: from motor speed to unit length and back, in exact fractions."""

from fractions import Fraction
from typing import Any

import click

from tapewright.cli.keeping import Keeping, keep_options, keep_result, settings_of
from tapewright.cli.motor.limits import speed_limit, within_option
from tapewright.cli.motor.train_options import Exact, train_of, train_options
from tapewright.cli.output import DONE, exit_code, json_option, write_json
from tapewright.cli.parameters import Number
from tapewright.core.motor.drive_train import synchronous_rpm
from tapewright.errors import WrongUseError


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
    from tapewright.adapters.reports.train_report import train_document, train_words
    from tapewright.core.motor.train_result import result_of

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
