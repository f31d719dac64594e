"""`tapewright line compose`: a test signal, ideal or with known faults, in any capture format."""

from dataclasses import fields
from pathlib import Path
from typing import Any

import click

from tapewright.adapters.capture_writers.formats import FORMATS, format_of, write_signal
from tapewright.adapters.reports.composed_report import document_of, words_of
from tapewright.app.compose_signal import BARS, Contents, Sender, codes_of, compose_signal
from tapewright.cli.line.compose_options import MOST_CHARACTERS, compose_options
from tapewright.cli.output import json_option, progress, write_json
from tapewright.cli.parameters import text_argument
from tapewright.core.alphabets import ALPHABETS
from tapewright.core.simulate.instrument import Instrument
from tapewright.core.simulate.keying import Keying
from tapewright.core.simulate.patterns import pattern
from tapewright.errors import WrongUseError


@click.command()
@click.argument("text", required=False)
@click.option("-o", "--out", required=True, type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
              help=f"Where to write: {', '.join(FORMATS)}.")  # fmt: skip
@compose_options
@json_option
def compose(text: str | None, out: Path, as_json: bool, **chosen: Any) -> None:
    """Write TEXT (or @FILE, or a --pattern) as a start-stop signal whose faults are known.

    The format follows from the name of the file. Late is positive, early negative. Without options the
    sender is ideal: what a reader then finds is the reader's own.
    """
    codes = _codes(text, chosen)
    sender = _sender(chosen)
    composed = compose_signal(codes, sender, _keying(chosen), *_recording(out, chosen), chosen["seed"])
    with progress(f"Writing {out.name}") as report:
        write_signal(out, composed, report)
    document = document_of(out.name, out.stat().st_size, composed, sender)
    if as_json:
        write_json(document)
    else:
        click.echo(words_of(document))


def _codes(text: str | None, chosen: dict[str, Any]) -> list[str]:
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


def _sender(chosen: dict[str, Any]) -> Sender:
    shift = abs(chosen["bias_percent"]) + abs(chosen["end_percent"])
    if shift >= 100:
        raise WrongUseError("Bias and end distortion together must stay below a whole unit (100 per cent).")
    values = {field.name: chosen[field.name] for field in fields(Sender)}
    for name in ("closing_late_ms", "opening_late_ms", "bounce_ms", "dropouts_per_s"):
        values[name] = dict(values[name])
    values["bars"] = {element: BARS[word] for element, word in chosen["bars"]}
    return Sender(**values)


def _keying(chosen: dict[str, Any]) -> Keying:
    lead_s, tail_s, gap_s, begin_s = (chosen[f"{name}_ms"] / 1000 for name in ("lead", "tail", "gap", "begin"))
    return Keying(lead_s=lead_s, tail_s=tail_s, gap_s=gap_s, begin_s=begin_s, glitches=chosen["glitches"])


def _recording(out: Path, chosen: dict[str, Any]) -> tuple[Instrument, Contents]:
    """Give the instrument and what the file is to hold."""
    form = format_of(out)
    contents = chosen["contents"] or form.CONTENTS[0]
    if chosen["lost"] and contents == "edges":
        raise WrongUseError("--lost needs samples: use .wav or .npy, or --as logic.")
    analogue = [name for name in ("ac_coupled", "noise", "hum") if chosen[name]]
    if analogue and chosen["contents"] is None and "volts" in form.CONTENTS:
        contents = "volts"
    if contents not in form.CONTENTS:
        raise WrongUseError(f"{out.name} can hold {' or '.join(form.CONTENTS)}, not {contents}.")
    if analogue and contents != "volts":
        raise WrongUseError(f"--{analogue[0].replace('_', '-')} needs voltages: use .wav, or --as volts.")
    if chosen["bits"] and out.suffix.lower() != ".wav":
        raise WrongUseError("--bits goes with a .wav file.")
    sound = FORMATS[".wav"] is form
    mark_v, space_v = (0.45, -0.45) if sound else (5.0, 0.0)
    swing_v = mark_v - space_v
    instrument = Instrument(
        rate_hz=chosen["rate"] or form.RATE_HZ,
        mark_v=mark_v,
        space_v=space_v,
        threshold_v=(mark_v + space_v) / 2,
        inverted=chosen["idle"] == "low",
        rise_s=chosen["edge_ms"] / 1000,
        fall_s=chosen["edge_ms"] / 1000,
        noise_v=chosen["noise"] / 100 * swing_v,
        hum_v=chosen["hum"] / 100 * swing_v,
        hum_hz=chosen["hum_hz"],
        ac_hz=chosen["ac_coupled"],
        anti_alias=sound,
        bits=int(chosen["bits"] or 16) if sound else None,
        full_scale_v=1.0 if sound else 10.0,
        drops=chosen["lost"],
        clock_ppm=chosen["clock_ppm"],
    )
    return instrument, contents
