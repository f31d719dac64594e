"""`tapewright motor pinion`: which teeth another mains frequency, motor or modulation rate needs."""

from fractions import Fraction
from typing import Any

import click

from tapewright.cli.keeping import Keeping, keep_options, keep_result, settings_of
from tapewright.cli.motor.limits import speed_limit, within_option
from tapewright.cli.motor.train_options import Baud, Exact, TwoWheels
from tapewright.cli.output import exit_code, json_option, write_json
from tapewright.core.motor.drive_train import Stage
from tapewright.errors import WrongUseError

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
    from tapewright.adapters.reports.pinion_report import pinion_document, pinion_words
    from tapewright.core.motor.pinion import judge_pairs, pairs

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
    """Give how many times faster the pair has to be."""
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
