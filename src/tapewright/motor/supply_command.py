"""`tapewright motor supply`: bring a motor to speed through its supply, or by hand, under a ceiling."""

import importlib
from collections.abc import Callable
from typing import Any

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.acknowledge import acknowledge, acknowledged_option
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_cautions, keep_options, keep_result, settings_of
from tapewright.furniture.options import Number
from tapewright.furniture.stop_signals import stops_raise
from tapewright.furniture.typed_lines import StoppedByKeyError, TypedLines
from tapewright.motor.bring_in import MOST_MOVES, BroughtIn, ReadSpeed, Settable, Wanted
from tapewright.motor.cautions import SUPPLY
from tapewright.motor.guarded_supply import Ceiling, GuardedSupply
from tapewright.motor.train_command import Exact, train_of, train_options
from tapewright.number import Reading

#: what a typed reading is -> how many per cent fast it says, with the wanted value
READS: dict[str, tuple[str, Callable[[float, float], float]]] = {
    "rpm": ("Motor speed, turns a minute", lambda seen, wanted: 100 * (seen / wanted - 1)),
    "unit": ("Unit length, ms", lambda seen, wanted: 100 * (wanted / seen - 1)),
    "percent": ("Per cent fast (slow: minus)", lambda seen, wanted: seen),
}
READING_U_PERCENT = 0.03
STOP_WORDS = ("stop", "off")
EXITS = {"done": DONE, "cannot": OUTSIDE}
VOLTS, AMPS = Number(0.1, 400), Number(0.001, 50)

#: the practice machine stands apart from what measures: loaded when it is asked for
PRACTICE = "tapewright.practice.supply"


@click.command()
@train_options
@click.option("--to", "supply_at", default="hand", show_default=True, metavar="WHERE",
              help="hand, practice[:heron|petrel], or the VISA address of a programmable supply.")  # fmt: skip
@click.option("--most-volts", type=VOLTS, required=True, help="Your ceiling. Nothing above it is ever set.")
@click.option("--most-amps", type=AMPS, required=True, help="Your ceiling for the current: the supply's limit.")
@click.option("--first-volts", type=VOLTS, required=True, help="Voltage to begin at: low.")
@click.option("--rpm", type=Exact(), help="Speed the motor is to turn at. [default: from --gears, --belt and --baud]")
@click.option("--within", type=Number(0.01, 10), default=0.2, show_default=True, metavar="P",
              help="How near, per cent either way.")  # fmt: skip
@click.option("--reads", type=click.Choice(list(READS)), default="rpm", show_default=True, help="What you type.")
@click.option("--reading-u", type=Number(0, 5), default=READING_U_PERCENT, show_default=True, metavar="P",
              help="Its standard uncertainty, per cent.")  # fmt: skip
@click.option("--most-moves", type=click.IntRange(1, 50), default=MOST_MOVES, show_default=True, help="Most moves.")
@click.option("--profile", default="generic", show_default=True, help="Its words: generic, skerry or a TOML file.")
@click.option("--no-confirm", is_flag=True, help="Set each voltage without asking.")
@click.option("--hold", is_flag=True, help="When it is done, run on until Enter.")
@click.option("--seed", type=click.IntRange(0), default=1, help="Of the practice machine's chance.")
@acknowledged_option
@keep_options
@json_option
def supply(keep: Keeping | None, as_json: bool, **said: Any) -> int:
    """Bring a motor to speed: say or set the next voltage, take the speed, until it is shown within.

    Cautions first, acknowledged; every voltage confirmed; the output goes off at the end, on Enter at any time, on
    Ctrl-C and on any failure. Exit code 0 when the speed is shown within, 1 when it cannot be, 3 otherwise.

    Example: tapewright motor supply --to hand --first-volts 20 --most-volts 60 --most-amps 1 --rpm 1800
    """
    from tapewright.motor.supply_report import supply_document, supply_words

    ceiling = Ceiling(said["most_volts"], said["most_amps"])
    if said["first_volts"] > ceiling.volts:
        raise WrongUseError(f"--first-volts: {said['first_volts']:g} V is above your ceiling of {ceiling.volts:g} V.")
    train = train_of(said)
    rpm = float(said["rpm"] or train.motor_rpm(said["baud"]))
    acknowledge(SUPPLY, acknowledged=said["acknowledged"])
    keep_cautions(keep, SUPPLY, "motor supply")
    what, went, off = _bring_in(said, ceiling, rpm)
    document = supply_document(what, ceiling, rpm, said["within"], went, off)
    if as_json:
        write_json(document)
    else:
        click.echo(supply_words(what, ceiling, rpm, said["within"], went, off))
    keep_result(keep, lambda: document, {}, "motor supply", settings_of(said), quiet=as_json)
    return EXITS.get(went.state, NOT_SHOWN)


def _bring_in(said: dict[str, Any], ceiling: Ceiling, rpm: float) -> tuple[str, BroughtIn, bool | None]:
    """Do it; give what the supply is, how it went, and whether the output is off (None: nobody can tell)."""
    from tapewright.motor.supplies.by_hand import SupplyByHand

    wanted = Wanted(said["within"], said["first_volts"], said["most_moves"])
    kind, _, where = said["supply_at"].partition(":")
    typed = TypedLines(listen=kind != "practice" or not said["no_confirm"])
    read = _typed_speed(said, typed, rpm)
    with stops_raise():
        if kind == "hand":
            by_hand = SupplyByHand(ceiling, typed.ask)
            return by_hand.what, _run(by_hand, wanted, read, typed, said), None
        if kind == "practice":
            practice: Any = importlib.import_module(PRACTICE).PracticeSupply(where or "petrel", said["seed"])
            guard = GuardedSupply(practice, ceiling, practice.bench.run, _say)
            read = _practice_speed(practice, rpm, said["within"])
        else:
            from tapewright.motor.supplies.kept_supply import KeptSupply

            guard = GuardedSupply(KeptSupply(said["supply_at"], said["profile"]), ceiling, typed.wait, _say)
        return guard.what, *_guarded(guard, wanted, read, typed, said)


def _guarded(
    guard: GuardedSupply, wanted: Wanted, read: ReadSpeed, typed: TypedLines, said: dict[str, Any]
) -> tuple[BroughtIn, bool]:
    went = BroughtIn()
    try:
        with guard:
            typed.tend = guard.measure
            went = _run(guard, wanted, read, typed, said)
            if said["hold"] and went.state == "done":
                typed.ask("The motor runs at speed. Enter switches the output off")
    except StoppedByKeyError:
        went.state, went.why = "stopped", "Enter was pressed"
    return went, guard.is_off


def _run(supply: Settable, wanted: Wanted, read: ReadSpeed, typed: TypedLines, said: dict[str, Any]) -> BroughtIn:
    from tapewright.motor.bring_in import bring_speed_in

    def confirm(volts: float, why: str) -> bool:
        _say(f"{volts:.2f} V ({why.split('.')[0]}).")
        # who sets it by hand confirms by setting it
        if said["no_confirm"] or not isinstance(supply, GuardedSupply):
            return True
        answer = typed.ask("Set it? Enter for yes; anything else switches off")
        return answer is not None and answer.strip().lower() in ("", "y", "yes")

    return bring_speed_in(supply, wanted, read, confirm)


def _typed_speed(said: dict[str, Any], typed: TypedLines, rpm: float) -> ReadSpeed:
    question, percent_fast = READS[said["reads"]]
    wanted = {"rpm": rpm, "unit": float(1000 / said["baud"]), "percent": 0.0}[said["reads"]]

    warned = False

    def read() -> Reading | None:
        nonlocal warned
        if not warned:
            _say("Let it warm up first, until two readings a minute apart agree; then type the last one.")
            warned = True
        while (line := typed.ask(f"{question} (stop to end)")) is not None and line.strip().lower() not in STOP_WORDS:
            try:
                seen = float(line.replace(",", "."))
                error = percent_fast(seen, wanted)
                if -99 < error < 1000:
                    return Reading(error, said["reading_u"], "percent", how="typed")
            except (ValueError, ZeroDivisionError):
                pass
            _say(f"Expected a number near {wanted:g}, found {line.strip()[:30]!r}.")
        return None

    return read


def _practice_speed(practice: Any, rpm: float, within: float) -> ReadSpeed:
    """Read the practice motor five times, and wait until it stands still."""
    import numpy as np

    from tapewright.motor.bring_in import read_when_steady

    def read() -> Reading:
        seen = np.array([practice.bench.read_rpm() for _ in range(5)])
        u = max(READING_U_PERCENT, 100 * float(seen.std(ddof=1)) / rpm / 5**0.5)
        return Reading(100 * (float(seen.mean()) / rpm - 1), u, "percent", 5, "practice")

    return read_when_steady(read, practice.bench.run, within)


def _say(text: str) -> None:
    click.echo(text, err=True)
