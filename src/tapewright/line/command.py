"""`tapewright line read`: from a recorded line signal to the contact that makes it wrong."""

from pathlib import Path
from typing import Any

import click

from tapewright.alphabets import ALPHABETS
from tapewright.furniture.command import DONE, exit_code, json_option, progress, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import Number, files_given, text_argument
from tapewright.furniture.whole_file import write_whole
from tapewright.recordings.files.formats import KINDS

HELP = f"""Read a recorded line signal: speed, text, and which contact is late by how much.

FILE is recognised by its content: {KINDS}.

Example: tapewright line read capture.csv --nominal 45.45 --expect "RYRYRY"
"""


@click.command(help=HELP)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--nominal", default="auto", show_default=True, help="Speed it should have, in baud: 45.45, 50, ...")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True,
              help="Code table: ita2, or us for the US commercial figures.")
@click.option("--channel", help="Name or number (from 1) of the channel; otherwise the one with characters.")
@click.option("--rate", type=Number(1e-3, 1e12), help="Samples a second, where the file does not tell.")
@click.option("--idle", type=click.Choice(["auto", "high", "low"]), default="auto", show_default=True,
              help="Level of the line at rest (mark).")  # fmt: skip
@click.option("--threshold", default="auto", show_default=True, help="Level, or LOW,HIGH, in the file's own units.")
@click.option("--clock-ppm", type=Number(0, 1e5), default=0.0, help="How far the recorder's clock may be out.")
@click.option("--expect", help="Text that was sent, @FILE with it, or pattern:NAME[:COUNT].")
@click.option("--limits", type=click.Path(path_type=Path), help="Your own limits, as TOML.")
@click.option("--window", type=Number(0, 0.99), default=0.2, show_default=True,
              help="Width of a receiver's look, as a share of the unit.")  # fmt: skip
@click.option("--unshift-on-space", is_flag=True, help="The machine goes back to letters on a space.")
@click.option("--out-plot", type=click.Path(path_type=Path), help="Write the picture to this SVG file.")
@keep_options
@json_option
def read(
    file: Path, out_plot: Path | None, limits: Path | None, keep: Keeping | None, as_json: bool, **said: Any
) -> int:
    """Write what a recorded line signal says."""
    from tapewright.line import from_settings as line
    from tapewright.line.text import line_text

    settings = said | {"expect": None if said["expect"] is None else text_argument(said["expect"])}
    files = files_given(capture=file, limits=limits)
    with progress("reading the capture") as report_progress:
        fingerprint = as_json or keep is not None
        report = line.measure(files, settings, progress=report_progress, fingerprint=fingerprint)
    if out_plot is not None:
        from tapewright.line.plot import line_plot

        write_whole(out_plot, line_plot(report))
    if as_json:
        write_json(line.document(report))
    else:
        click.echo(line_text(report))
    keep_result(keep, lambda: line.document(report), files, "line read", settings, quiet=as_json)
    return exit_code(report.result.verdicts) or DONE
