"""`tapewright line read`: from a recorded line signal to the contact that makes it wrong."""

from pathlib import Path

import click

from tapewright.furniture.command import DONE, exit_code, json_option, progress, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import click_options, files_given
from tapewright.furniture.settings import to_steps
from tapewright.furniture.whole_file import write_whole
from tapewright.line.settings import ReadSettings
from tapewright.recordings.files.formats import FORMATS, every_format, kinds

HELP = f"""Read a recorded line signal: speed, text, and which contact is late by how much.

FILE is recognised by its content: {kinds(FORMATS)}.

Example: tapewright line read capture.csv --nominal 45.45 --expect "RYRYRY"
"""


class NamesEveryFormat(click.Command):
    """A command whose help also names the capture formats that other packages add, looked for when it is shown."""

    def format_help_text(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the help."""
        self.help = HELP.replace(kinds(FORMATS), kinds(every_format()))
        super().format_help_text(ctx, formatter)


@click.command(cls=NamesEveryFormat, help=HELP)
@click.argument("file", type=click.Path(path_type=Path))
@click_options(ReadSettings)
@click.option("--limits", type=click.Path(path_type=Path), help="Your own limits, as TOML.")
@click.option("--out-plot", type=click.Path(path_type=Path), help="Write the picture to this SVG file.")
@keep_options
@json_option
def read(
    file: Path,
    settings: ReadSettings,
    limits: Path | None,
    out_plot: Path | None,
    keep: Keeping | None,
    as_json: bool,
) -> int:
    """Write what a recorded line signal says."""
    from tapewright.line import from_settings as line

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
        from tapewright.line.text import line_text

        click.echo(line_text(report))
    keep_result(keep, lambda: line.document(report), files, "line read", to_steps(settings), quiet=as_json)
    return exit_code(report.result.verdicts) or DONE
