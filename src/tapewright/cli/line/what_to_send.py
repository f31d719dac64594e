"""From options to codes, sender and keying: what `line compose`, `line send` and `line margin` share."""

from dataclasses import fields
from typing import Any

from tapewright.app.compose_signal import BARS, Sender, codes_of
from tapewright.cli.line.compose_options import MOST_CHARACTERS
from tapewright.cli.parameters import text_argument
from tapewright.core.alphabets import ALPHABETS
from tapewright.core.simulate.keying import Keying
from tapewright.core.simulate.patterns import pattern
from tapewright.errors import WrongUseError


def codes_from(text: str | None, chosen: dict[str, Any]) -> list[str]:
    """Give the codes of TEXT, @FILE or --pattern, as often as wanted."""
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
    """Give the codes, at least one: a machine is to receive something."""
    codes = codes_from(text, chosen)
    if not codes:
        raise WrongUseError("The text is empty: there is nothing to send.")
    return codes


def sender_from(chosen: dict[str, Any]) -> Sender:
    """Give who sends, and how badly."""
    shift = abs(chosen["bias_percent"]) + abs(chosen["end_percent"])
    if shift >= 100:
        raise WrongUseError("Bias and end distortion together must stay below a whole unit (100 per cent).")
    values = {field.name: chosen[field.name] for field in fields(Sender)}
    for name in ("closing_late_ms", "opening_late_ms", "bounce_ms", "dropouts_per_s"):
        values[name] = dict(values[name])
    values["bars"] = {element: BARS[word] for element, word in chosen["bars"]}
    return Sender(**values)


def keying_from(chosen: dict[str, Any]) -> Keying:
    """Give how the characters follow each other."""
    lead_s, tail_s, gap_s, begin_s = (chosen[f"{name}_ms"] / 1000 for name in ("lead", "tail", "gap", "begin"))
    return Keying(lead_s=lead_s, tail_s=tail_s, gap_s=gap_s, begin_s=begin_s, glitches=chosen["glitches"])
