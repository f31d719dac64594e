"""The options of `tapewright line compose`: what to send, who sends, how it comes, how it is recorded.

From options to codes, sender and keying: what `line compose`, `line send` and `line margin` share.
"""

from dataclasses import fields
from typing import Any

import click

from tapewright.alphabets import ALPHABETS
from tapewright.errors import WrongUseError
from tapewright.furniture.options import NamedNumber, NamedWord, Number, text_argument
from tapewright.message.test_texts import PATTERNS, pattern
from tapewright.practice.keying import Keying
from tapewright.practice.machines import MACHINES
from tapewright.sender.compose import ALL, BARS, STOP, Sender, codes_of

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


def codes_from(text: str | None, chosen: dict[str, Any]) -> list[str]:
    """Return the codes of TEXT, @FILE or --pattern, as often as wanted."""
    if (text is None) == (chosen["pattern"] is None):
        raise WrongUseError("Give either TEXT or --pattern: one of them says what to send.")
    if chosen["count"] and text is not None:
        raise WrongUseError("--count goes with --pattern; a TEXT is sent again with --repeat.")
    alphabet = ALPHABETS[chosen["alphabet"]]
    once = pattern(chosen["pattern"], alphabet, chosen["count"]) if text is None else text_argument(text)
    if len(once) * chosen["repeat"] > MOST_CHARACTERS:
        raise WrongUseError(f"This would be more than {MOST_CHARACTERS} characters: lower --count or --repeat.")
    again = once * int(chosen["repeat"])
    # a text is encoded whole, so that one that ends in figures begins again in letters
    return codes_of(again, alphabet) if isinstance(again, str) else again


def some_codes_from(text: str | None, chosen: dict[str, Any]) -> list[str]:
    """Return the codes, at least one: a machine is to receive something."""
    codes = codes_from(text, chosen)
    if not codes:
        raise WrongUseError("The text is empty: there is nothing to send.")
    return codes


def sender_from(chosen: dict[str, Any]) -> Sender:
    """Return who sends, and how badly."""
    shift = abs(chosen["bias_percent"]) + abs(chosen["end_percent"])
    if shift >= 100:
        raise WrongUseError("Bias and end distortion together must stay below a whole unit (100 per cent).")
    values = {field.name: chosen[field.name] for field in fields(Sender)}
    for name in ("closing_late_ms", "opening_late_ms", "bounce_ms", "dropouts_per_s"):
        values[name] = dict(values[name])
    values["bars"] = {element: BARS[word] for element, word in chosen["bars"]}
    return Sender(**values)


def keying_from(chosen: dict[str, Any]) -> Keying:
    """Return how the characters follow each other."""
    lead_s, tail_s, gap_s, begin_s = (chosen[f"{name}_ms"] / 1000 for name in ("lead", "tail", "gap", "begin"))
    return Keying(lead_s=lead_s, tail_s=tail_s, gap_s=gap_s, begin_s=begin_s, glitches=chosen["glitches"])
