"""`tapewright motor speed`: the speed by strobe, tachometer, stopwatch and line, held against each other."""

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import click

from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.command import exit_code, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result, settings_of
from tapewright.furniture.options import Number
from tapewright.motor.drive_train import Train
from tapewright.motor.train_command import Exact, speed_limit, train_of, train_options, within_option
from tapewright.number import Reading

LONGEST_DOCUMENT_BYTES = 50_000_000


class Over(click.ParamType[tuple[float, float]]):
    """COUNT/SECONDS, the count with its sign."""

    name = "count/seconds"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> tuple[float, float]:
        """Return the two numbers, or say what was expected."""
        if isinstance(value, tuple):
            return value
        count, slash, seconds = str(value).replace(",", ".").partition("/")
        if not slash:
            self.fail(f"{value!r}: expected COUNT/SECONDS, as in 200/32.6.", param, ctx)
        return Number(-1e6, 1e6).convert(count, param, ctx), Number(0.1, 1e6).convert(seconds, param, ctx)


@click.command()
@train_options
@click.option("--fork", type=Exact(), metavar="HZ", help="Slotted fork of this frequency, looked through at the spots.")
@click.option("--flashes", type=Exact(), metavar="HZ",
              help="Or flashes (pictures) a second; a lamp on the mains flashes twice a period.")  # fmt: skip
@click.option("--flashes-u", type=Number(0, 10), metavar="P",
              help="Standard uncertainty of fork or flashes, per cent. [default: 0.05]")  # fmt: skip
@click.option("--spots", type=click.IntRange(1, 1000), help="Dark spots round the wheel.")
@click.option("--drift", type=Over(), default="0/10", show_default=True, metavar="SPOTS/SECONDS",
              help="Spots that pass a mark; minus for backward, against the wheel's turning.")  # fmt: skip
@click.option("--tach", type=Number(0.01, 1e6), metavar="RPM", help="What a tachometer shows.")
@click.option("--tach-u", type=Number(0, 1e5), metavar="RPM", help="Its standard uncertainty. [default: 0.3 % of it]")
@click.option("--at", "shaft", type=click.Choice(["motor", "cam"]), default="motor", show_default=True,
              help="Shaft that strobe and tachometer look at.")  # fmt: skip
@click.option("--timed", type=Over(), metavar="CHARACTERS/SECONDS",
              help="Characters at full speed, timed by stopwatch.")  # fmt: skip
@click.option("--timed-u", type=Number(0, 100), metavar="S",
              help="Standard uncertainty of that time. [default: 0.10 s]")  # fmt: skip
@click.option("--line", "line_file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.json",
              help="What `line read --json` found.")  # fmt: skip
@within_option
@keep_options
@json_option
def speed(keep: Keeping | None, as_json: bool, **said: Any) -> int:
    """Take the speed by one or more ways, say whether they agree, and how far it is out.

    Example: tapewright motor speed --gears 7:30 --units 6.5 --fork 90 --spots 6 --drift -3/10 --timed 200/32.7
    """
    from tapewright.motor.agreement import agree
    from tapewright.motor.speed_report import speed_document, speed_words
    from tapewright.number import judge

    ways = _ways(said)
    if not ways:
        raise WrongUseError("Give at least one way: --fork or --flashes with --spots, --tach, --timed or --line.")
    agreement = agree(ways)
    verdict = judge(agreement.error_percent, speed_limit(said["within"]))
    document = speed_document(agreement, said["baud"], verdict)
    if as_json:
        write_json(document)
    else:
        click.echo(speed_words(agreement, said["baud"], verdict))
    keep_result(keep, lambda: document, {}, "motor speed", settings_of(said), quiet=as_json)
    return exit_code([verdict])


def _ways(said: dict[str, Any]) -> list[Any]:
    from tapewright.motor.ways import by_line, by_stopwatch, by_strobe, by_tachometer

    train, baud, cam = train_of(said), said["baud"], said["shaft"] == "cam"
    found = []
    strobe = _strobe(said)
    if strobe is not None:
        found.append(by_strobe(strobe, train, baud, on_cam_shaft=cam))
    if said["tach"] is not None:
        u = said["tach"] * TACHOMETER_U if said["tach_u"] is None else said["tach_u"]
        found.append(by_tachometer(Reading(said["tach"], u, "rpm"), train, baud, on_cam_shaft=cam))
    if said["timed"] is not None:
        found.append(by_stopwatch(*_timed(said["timed"]), _character_units(said, train), baud, said["timed_u"]))
    if said["line_file"] is not None:
        found.append(by_line(_unit_ms(said["line_file"]), baud))
    return found


#: a hand tachometer, digit and slip together; common practice, no source
TACHOMETER_U = 0.003


def _strobe(said: dict[str, Any]) -> Any:
    from tapewright.motor.strobe import FORK_U_RELATIVE, Drift, Strobe

    if said["fork"] is None and said["flashes"] is None:
        return None
    if said["fork"] is not None and said["flashes"] is not None:
        raise WrongUseError("Give either --fork or --flashes.")
    if said["spots"] is None:
        raise WrongUseError("--spots: how many dark spots go round the wheel?")
    looks = 2 * said["fork"] if said["fork"] is not None else said["flashes"]
    u = FORK_U_RELATIVE if said["flashes_u"] is None else said["flashes_u"] / 100
    return Strobe(looks, u, said["spots"], Drift(*said["drift"]))


def _timed(timed: tuple[float, float]) -> tuple[int, float]:
    if timed[0] < 1 or timed[0] != int(timed[0]):
        raise WrongUseError(f"--timed: expected a whole number of characters, found {timed[0]:g}.")
    return int(timed[0]), timed[1]


def _character_units(said: dict[str, Any], train: Train) -> Fraction:
    """Return the units of a character on the line; a receiving shaft's turn is shorter than that."""
    from tapewright.motor.drive_train import usual_units

    return max(train.units_per_turn, usual_units(said["baud"]) if train.units_per_turn < 7 else Fraction(0))


def _unit_ms(path: Path) -> Reading:
    """Take the unit from a document tapewright/line/1."""
    do = "Make it with `tapewright line read FILE --json`."
    expected = "a document tapewright/line/1 with a unit length"
    if path.stat().st_size > LONGEST_DOCUMENT_BYTES:
        raise InputError(path.name, expected=expected, found="a larger file", do=do)
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        unit = document["speed"]["unit_ms"]
        value, u = float(unit["value"]), float(unit["u"])
        if document["format"] != "tapewright/line/1" or not 0 < value < 1e6 or not 0 <= u < 1e6:
            raise ValueError
    except (ValueError, KeyError, TypeError, RecursionError) as reason:
        raise InputError(path.name, expected=expected, found="something else", do=do) from reason
    return Reading(value, u, "ms")
