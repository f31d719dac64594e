"""`tapewright drive`: feed a magnet from a bench supply, and read from its current whether it moved."""

from pathlib import Path
from typing import Any

import click

from tapewright.furniture.command import DONE, NOT_SHOWN, exit_code, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import files_given
from tapewright.furniture.whole_file import write_whole

#: option -> (key in the file, help)
OPTIONS: dict[str, tuple[str, str]] = {
    "--coil-ohm": ("coil.r_ohm", "Resistance of the coil."),
    "--coil-h": ("coil.l_h", "Inductance of the coil, henry."),
    "--pull-in": ("coil.pull_in_a", "Current at which the armature goes in, ampere."),
    "--drop-out": ("coil.drop_out_a", "Current at which it falls off, ampere."),
    "--temperature": ("coil.temperature_c", "Temperature of the coil at work, degrees Celsius."),
    "--volts": ("supply.volts", "Voltage of the supply."),
    "--limit": ("supply.limit_a", "Current limit of the supply, ampere."),
    "--series-ohm": ("series.r_ohm", "Resistor in series."),
    "--suppressor-ohm": ("suppressor.r_ohm", "Resistance of diode+r or rc."),
    "--suppressor-volts": ("suppressor.volts", "Clamping voltage of a zener or TVS."),
    "--suppressor-farad": ("suppressor.c_f", "Capacitance of rc, farad."),
    "--unit": ("line.unit_ms", "Length of a unit, ms."),
    "--baud": ("line.baud", "Modulation rate instead of --unit."),
    "--stop": ("line.stop_units", "Length of the stop, units."),
    "--most-bias": ("limits.added_bias_percent", "Your limit for the added bias, percent of the unit."),
    "--most-volts": ("limits.contact_v", "Your limit for the voltage across the opening contact."),
}
WORDS: dict[str, tuple[str, tuple[str, ...], str]] = {
    "--suppressor": ("suppressor.kind", ("none", "diode", "diode+r", "zener", "rc"), "What takes the coil's energy."),
    "--across": ("suppressor.across", ("coil", "contact"), "Where a zener or rc lies."),
    "--pair": ("coil.pair", ("series", "parallel"), "Two such coils, wired so."),
}


@click.group()
def drive() -> None:
    """Feed a magnet from a bench supply, and read from its current whether it moved."""


def _drive_options(command: Any) -> Any:
    for name, (key, text) in reversed(OPTIONS.items()):
        command = click.option(name, key.replace(".", "__"), type=float, help=text)(command)
    for name, (key, words, text) in reversed(WORDS.items()):
        command = click.option(name, key.replace(".", "__"), type=click.Choice(words), help=text)(command)
    return click.option("--text", "line__text", help="Text to send through it.")(command)


@drive.command()
@click.argument("file", required=False, type=click.Path(path_type=Path))
@_drive_options
@click.option("--search", is_flag=True, help="Search resistor and suppressor; the picture is then the trade.")
@click.option("--out-plot", type=click.Path(dir_okay=False, path_type=Path), help="Write the picture (SVG).")
@json_option
def plan(file: Path | None, search: bool, out_plot: Path | None, as_json: bool, **given: Any) -> int:
    """Say what a magnet drive will do: times, bias, voltage, heat, with the cautions first.

    FILE is a TOML file with [coil], [supply], [series], [suppressor], [line]; options stand above it.

    Example: tapewright drive plan --coil-ohm 66 --coil-h 1.7 --pull-in 0.024 --drop-out 0.012
    --volts 120 --series-ohm 1934 --suppressor zener --suppressor-volts 100 --unit 22
    """
    from tapewright.coil.drive.file import drive_file, plan_drive
    from tapewright.coil.drive.json import plan_document
    from tapewright.coil.drive.plot import plan_plot
    from tapewright.coil.drive.text import plan_text, search_document, search_plot, search_text

    options = {key.replace("__", "."): value for key, value in given.items() if value is not None}
    if file is None and not options:
        raise click.UsageError("Give a FILE, or options such as --coil-ohm.")
    request, order = drive_file(file, options, search=search)
    result, searched = plan_drive(request, order)
    if out_plot is not None:
        write_whole(out_plot, plan_plot(result) if searched is None else search_plot(searched))
    if as_json:
        write_json(plan_document(result) | {"search": search_document(searched)})
    else:
        click.echo(plan_text(result) + ("" if searched is None else "\n" + search_text(searched)))
    return exit_code(result.verdicts)


@drive.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--shunt", type=float, help="The file holds volts across this resistor, ohm.")
@click.option("--supply", type=float, help="Voltage of the supply; without it neither R nor L can be told.")
@click.option("--series-ohm", type=float, default=0.0, help="Other resistance in the loop that is not the coil.")
@click.option("--scale", type=float, default=1.0, help="What one unit of the file is, in volts (or amperes).")
@click.option("--rate", type=float, help="Samples per second, where the file does not tell.")
@click.option("--channel", help="Name or number of the channel.")
@click.option(
    "--against",
    type=click.Path(path_type=Path),
    help="A second recording, later: warm, or after oiling.",
)
@click.option("--out-plot", type=click.Path(dir_okay=False, path_type=Path), help="Write the picture (SVG).")
@keep_options
@json_option
def read(
    file: Path, against: Path | None, out_plot: Path | None, keep: Keeping | None, as_json: bool, **said: Any
) -> int:
    """Say from a recorded coil current whether the armature moved, when it landed, and what R and L are.

    Example: tapewright drive read current.csv --shunt 10 --supply 120 --series-ohm 1924
    """
    from tapewright.coil import from_settings as coil
    from tapewright.coil.plot import coil_plot
    from tapewright.coil.text import coil_text

    files = files_given(current=file, against=against)
    report = coil.measure(files, said)
    if out_plot is not None:
        write_whole(out_plot, coil_plot(report.reading))
    if as_json:
        write_json(coil.document(report))
    else:
        click.echo(coil_text(report.reading, report.compared, report.other))
    keep_result(keep, lambda: coil.document(report), files, "drive read", said, quiet=as_json)
    return NOT_SHOWN if report.reading.signature.moved is None else DONE
