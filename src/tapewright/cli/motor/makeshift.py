"""`tapewright motor makeshift`: what a drill or geared motor must turn at, and what it is good for."""

from typing import Any

import click

from tapewright.cli.keeping import Keeping, keep_options, keep_result, settings_of
from tapewright.cli.motor.train_options import train_of, train_options
from tapewright.cli.output import exit_code, json_option, write_json
from tapewright.cli.parameters import Number
from tapewright.core.measurement import Limit, Reading, Source, Standing
from tapewright.errors import WrongUseError

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
    from tapewright.adapters.reports.makeshift_report import makeshift_document, makeshift_words

    train, steadiness = train_of(said), _steadiness(said)
    document = makeshift_document(train, said["baud"], steadiness)
    if as_json:
        write_json(document)
    else:
        click.echo(makeshift_words(train, said["baud"], steadiness))
    keep_result(keep, lambda: document, {}, "motor makeshift", settings_of(said), quiet=as_json)
    return exit_code([steadiness.verdict])


def _steadiness(said: dict[str, Any]) -> Any:
    from tapewright.core.motor import steadiness

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
    from tapewright.core.motor.steadiness import USUAL_LIMIT_PERCENT, USUAL_SOURCE, allowed

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
