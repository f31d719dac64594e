"""The options of `tapewright line compose`: what to send, who sends, how it comes, how it is recorded."""

from typing import Any

import click

from tapewright.app.compose_signal import ALL, BARS, STOP
from tapewright.cli.parameters import NamedNumber, NamedWord, Number
from tapewright.core.alphabets import ALPHABETS
from tapewright.core.simulate.patterns import PATTERNS
from tapewright.core.simulate.practice_machines import MACHINES

CONTACTS = ("1", "2", "3", "4", "5", STOP, ALL)
MOST_CHARACTERS = 250_000
PERCENT, HALF = Number(-90, 90), Number(0, 50)
MS = NamedNumber(CONTACTS, Number(-20, 20))

WHAT_TO_SEND = (
    click.option("--pattern", type=click.Choice(list(PATTERNS)), help="Send a test pattern instead of TEXT."),
    click.option("--count", type=click.IntRange(1, MOST_CHARACTERS), help="Characters of the pattern."),
    click.option("--repeat", type=click.IntRange(1, MOST_CHARACTERS), default=1, help="Send it all so many times."),
    click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True,
                 help="Code table."),
)
WHO_SENDS = (
    click.option("--machine", type=click.Choice(list(MACHINES)),
                 help="The practice machine instead of an ideal sender."),
    click.option("--baud", type=Number(1, 10_000), default=45.45, show_default=True,
                 help="Nominal rate; 45.45 is a unit of 22 ms exactly."),
    click.option("--stop-units", type=Number(0.5, 1000), help="Stop pulse in units. [default: 1.42 or 1.5, by rate]"),
    click.option("--speed-error", "speed_error_percent", type=PERCENT, default=0.0, metavar="P",
                 help="Per cent faster than nominal; negative is slower."),
    click.option("--bias", "bias_percent", type=PERCENT, default=0.0, metavar="P",
                 help="Marking bias, per cent of a unit; negative is spacing."),
    click.option("--end", "end_percent", type=PERCENT, default=0.0, metavar="P",
                 help="Marking end distortion, per cent of a unit; negative is spacing."),
    click.option("--scatter", "scatter_percent", type=HALF, default=0.0, metavar="P",
                 help="Standard deviation of every instant but the start, per cent of a unit."),
    click.option("--hunt", "hunt_percent", type=HALF, default=0.0, metavar="P",
                 help="The speed swings by so many per cent either way."),
    click.option("--hunt-hz", type=Number(0.001, 100), default=1.0, show_default=True, help="How often it swings."),
    click.option("--cold", "cold_percent", type=HALF, default=0.0, metavar="P",
                 help="Per cent slower at first; gone after some minutes."),
    click.option("--own-contacts", is_flag=True,
                 help="The ideal sender gets a contact for each element, so that marks can split."),
    click.option("--late", "closing_late_ms", type=MS, multiple=True, metavar="CONTACT=MS",
                 help="Contact 1 to 5, stop or all closes late."),
    click.option("--late-opening", "opening_late_ms", type=MS, multiple=True, metavar="CONTACT=MS",
                 help="It opens late; the stop contact's opening is the start."),
    click.option("--bounce-ms", type=NamedNumber(CONTACTS, Number(0, 20), ALL), multiple=True,
                 metavar="[CONTACT=]MS", help="Bounce from first to last make."),
    click.option("--dropouts", "dropouts_per_s", type=NamedNumber(CONTACTS, Number(0, 1000), ALL), multiple=True,
                 metavar="[CONTACT=]N", help="A dirty contact: so many short failures a second while closed."),
    click.option("--bar", "bars", type=NamedWord(("1", "2", "3", "4", "5"), tuple(BARS)), multiple=True,
                 metavar="ELEMENT=WORD",
                 help="Its code bar is stuck at mark or space, keeps marks left-over, or is tired (misses marks)."),
)  # fmt: skip
HOW_IT_COMES = (
    click.option("--gap-ms", type=Number(0, 60_000), default=0.0, help="Mean rest between characters, keyed by hand."),
    click.option("--lead-ms", type=Number(0, 3_600_000), default=300.0, show_default=True,
                 help="Rest at the beginning."),
    click.option("--tail-ms", type=Number(0, 3_600_000), default=300.0, show_default=True, help="Rest at the end."),
    click.option("--begin-ms", type=Number(0, 3_600_000), default=0.0, help="Cut off so much of the beginning."),
    click.option("--glitches", type=click.IntRange(0, 1000), default=0, help="Short spaces before the first start."),
    click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of all chance in the signal."),
)
HOW_IT_IS_RECORDED = (
    click.option("--as", "contents", type=click.Choice(["edges", "logic", "volts"]),
                 help="Changes only, logic samples or voltages. [default: what suits the format]"),
    click.option("--rate", type=Number(100, 1e9), metavar="HZ", help="Sample rate. [default: what suits the format]"),
    click.option("--idle", type=click.Choice(["high", "low"]), default="high", show_default=True,
                 help="Level of the idle line (mark)."),
    click.option("--ac-coupled", type=Number(0, 1000), default=0.0, metavar="HZ",
                 help="Corner of an AC-coupled input."),
    click.option("--edge-ms", type=Number(0, 100), default=0.0, metavar="MS", help="Time constant of slow edges."),
    click.option("--noise", type=Number(0, 1000), default=0.0, metavar="P",
                 help="Standard deviation of the noise, per cent of the swing."),
    click.option("--hum", type=Number(0, 1000), default=0.0, metavar="P", help="Mains hum, per cent of the swing."),
    click.option("--hum-hz", type=Number(1, 1000), default=50.0, show_default=True, help="Its frequency."),
    click.option("--clock-ppm", type=Number(-1e5, 1e5), default=0.0, metavar="P", help="How fast the clock runs."),
    click.option("--lost", type=click.IntRange(0, 1000), default=0, help="Samples are lost so many times, 20 each."),
    click.option("--bits", type=click.Choice(["8", "16", "24", "32"]), help="Bits of a WAV sample. [default: 16]"),
)  # fmt: skip


def compose_options(command: Any) -> Any:
    """Add them all to a click command, in this order."""
    return _with(command, [*WHAT_TO_SEND, *WHO_SENDS, *HOW_IT_COMES, *HOW_IT_IS_RECORDED])


def send_options(command: Any) -> Any:
    """Add those that say what is sent, by whom and how it comes."""
    return _with(command, [*WHAT_TO_SEND, *WHO_SENDS, *HOW_IT_COMES])


def _with(command: Any, options: list[Any]) -> Any:
    for option in reversed(options):
        command = option(command)
    return command
