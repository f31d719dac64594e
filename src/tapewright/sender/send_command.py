"""`tapewright line send`: a test signal into a machine, by sound, serial port, file or practice machine."""

from typing import Any

import click

from tapewright.alphabets import ALPHABETS
from tapewright.errors import WrongUseError
from tapewright.furniture.acknowledge import acknowledge, acknowledged_option
from tapewright.furniture.command import json_option, progress, write_json
from tapewright.furniture.keeping import Keeping, keep_cautions, keep_for_options, keep_result, settings_of
from tapewright.furniture.options import Number
from tapewright.furniture.stop_signals import stops_raise
from tapewright.sender.compose_options import keying_from, send_options, sender_from, some_codes_from
from tapewright.sender.send import LOOP_CAUTIONS, send_signal, transmit
from tapewright.sender.sent_report import sent_document, sent_words, sinks_document, sinks_words
from tapewright.sender.sinks.asked import Asked
from tapewright.sender.sinks.sinks import on_offer, open_sink


@click.command()
@click.argument("text", required=False)
@click.option("--to", "sink", metavar="SINK", help="practice[:heron|petrel], FILE.wav, sound[:DEVICE] or serial:PORT.")
@click.option("--list", "list_them", is_flag=True, help="List the sinks, and why one cannot be used.")
@click.option("--tone", type=Number(20, 96_000), metavar="HZ", help="Key a tone on and off instead of baseband.")
@click.option("--turned", is_flag=True, help="Mark low instead of high; the tone on in space.")
@click.option("--rate", type=Number(8000, 384_000), metavar="HZ", help="Samples a second of sound. [default: 48000]")
@click.option("--by", type=click.Choice(["auto", "uart", "break"]), default="auto", show_default=True,
              help="How a serial port sends: by its UART, or change by change.")  # fmt: skip
@acknowledged_option
@send_options
@keep_for_options
@json_option
def send(
    text: str | None, sink: str | None, list_them: bool, keep: Keeping | None, as_json: bool, **chosen: Any
) -> None:
    """Send TEXT (or @FILE, or a --pattern) as a start-stop signal whose faults are known.

    Cautions stand before anything that may drive a loop, and are acknowledged. The same options as `line compose`.

    Example: tapewright line send --pattern ry --bias 20 --to sound --tone 2000
    """
    if list_them:
        offers = on_offer()
        write_json(sinks_document(offers)) if as_json else click.echo(sinks_words(offers))
        return
    if sink is None:
        raise WrongUseError("--to: where is it to go? `tapewright line send --list` names the sinks.")
    asked = Asked(
        rate_hz=chosen["rate"], tone_hz=chosen["tone"], turned=chosen["turned"], by=chosen["by"], seed=chosen["seed"]
    )
    sender = sender_from(chosen)
    transmission = transmit(some_codes_from(text, chosen), sender, keying_from(chosen), chosen["seed"])
    out = open_sink(sink, asked)
    if out.drives_loop:
        acknowledge(LOOP_CAUTIONS, acknowledged=chosen["acknowledged"])
        keep_cautions(keep, LOOP_CAUTIONS, "line send")
    with stops_raise(), progress(f"Sending to {out.what}") as report:
        sending = send_signal(transmission, sender, out, report)
    alphabet = ALPHABETS[chosen["alphabet"]]
    if as_json:
        write_json(sent_document(sending, alphabet))
    else:
        click.echo(sent_words(sending, alphabet))
    settings = settings_of({"text": text, "to": sink, **chosen})
    keep_result(keep, lambda: sent_document(sending, alphabet), {}, "line send", settings, quiet=as_json)
