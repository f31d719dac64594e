"""`tapewright line compose`: a test signal, ideal or with known faults, in any capture format."""

from pathlib import Path
from typing import Any

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.command import json_option, progress, write_json
from tapewright.practice.instrument import Instrument
from tapewright.sender.compose import Contents, compose_signal
from tapewright.sender.compose_options import codes_from, compose_options, keying_from, sender_from
from tapewright.sender.composed_report import document_of, words_of
from tapewright.sender.files.formats import FORMATS, format_of, write_signal


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
    codes = codes_from(text, chosen)
    sender = sender_from(chosen)
    composed = compose_signal(codes, sender, keying_from(chosen), *_recording(out, chosen), chosen["seed"])
    with progress(f"Writing {out.name}") as report:
        write_signal(out, composed, report)
    document = document_of(out.name, out.stat().st_size, composed, sender)
    if as_json:
        write_json(document)
    else:
        click.echo(words_of(document))


def _recording(out: Path, chosen: dict[str, Any]) -> tuple[Instrument, Contents]:
    """Return the instrument and what the file is to hold."""
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
