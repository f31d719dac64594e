"""`tapewright drive`: feed a magnet from a bench supply, and read from its current whether it moved."""

from pathlib import Path

import click

from tapewright.coil.settings import CurrentSettings, DriveOptions
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, exit_code, json_option
from tapewright.furniture.document import encode_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import click_options, files_given
from tapewright.furniture.settings import settings_in, to_steps
from tapewright.furniture.whole_file import write_whole


@click.group()
def drive() -> None:
    """Feed a magnet from a bench supply, and read from its current whether it moved."""


@drive.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@click_options(DriveOptions)
@click.option("--search", is_flag=True, help="Search resistor and suppressor; the picture is then the trade.")
@click.option("--out-plot", type=click.Path(dir_okay=False, path_type=Path), help="Write the picture (SVG).")
@json_option
def plan(file: Path | None, settings: DriveOptions, search: bool, out_plot: Path | None, as_json: bool) -> int:
    """Say what a magnet drive will do: times, bias, voltage, heat, with the cautions first.

    FILE is a TOML file with [coil], [supply], [series], [suppressor], [line]; options stand above it.

    Example: tapewright drive plan --coil-ohm 66 --coil-h 1.7 --pull-in 0.024 --drop-out 0.012
    --volts 120 --series-ohm 1934 --suppressor zener --suppressor-volts 100 --unit 22
    """
    from tapewright.coil.drive.file import drive_file, plan_drive
    from tapewright.coil.drive.plot import plan_plot, search_plot
    from tapewright.coil.words import plan_text

    given = {part.key: getattr(settings, part.name) for part in settings_in(DriveOptions)}
    options = {key: value for key, value in given.items() if value is not None}
    if file is None and not options:
        raise click.UsageError("Give a FILE, or options such as --coil-ohm.")
    result, searched = plan_drive(*drive_file(file, options, search=search))
    if out_plot is not None:
        write_whole(out_plot, plan_plot(result) if searched is None else search_plot(searched))
    click.echo(encode_json(result.document) if as_json else plan_text(result.document))
    return exit_code(result.document.verdicts)


@drive.command()
@click.argument("file", type=click.Path(path_type=Path))
@click_options(CurrentSettings)
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    help="A second recording, later: warm, or after oiling.",
)
@click.option("--out-plot", type=click.Path(dir_okay=False, path_type=Path), help="Write the picture (SVG).")
@keep_options
@json_option
def read(
    file: Path,
    settings: CurrentSettings,
    against: Path | None,
    out_plot: Path | None,
    keep: Keeping | None,
    as_json: bool,
) -> int:
    """Say from a recorded coil current whether the armature moved, when it landed, and what R and L are.

    Example: tapewright drive read current.csv --shunt 10 --supply 120 --series-ohm 1924
    """
    from tapewright.coil.from_settings import document, measure
    from tapewright.coil.plot import coil_plot
    from tapewright.coil.words import coil_text

    files = files_given(current=file, against=against)
    report = measure(files, settings)
    coil = report.read.coil
    if out_plot is not None:
        write_whole(out_plot, coil_plot(report.read))
    click.echo(encode_json(coil) if as_json else coil_text(coil, None if report.other is None else report.other.coil))
    keep_result(keep, lambda: document(report), files, "drive read", to_steps(settings), quiet=as_json)
    # an armature that stands still is outside what a magnet is for (decision 175)
    return {True: DONE, False: OUTSIDE, None: NOT_SHOWN}[coil.moved]
