"""`tapewright line read`: from a recorded line signal to the contact that makes it wrong."""

import math
from pathlib import Path
from typing import Any, Literal

import click

from tapewright.cli.output import DONE, exit_code, json_option, progress, write_json
from tapewright.cli.parameters import Number, text_argument
from tapewright.core.alphabets import ALPHABETS, Alphabet, encode
from tapewright.errors import WrongUseError

SLOWEST_BAUD, FASTEST_BAUD = 10.0, 400.0


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--nominal", default="auto", show_default=True, help="Speed it should have, in baud: 45.45, 50, ...")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True)
@click.option("--channel", help="Name or number (from 1) of the channel; otherwise the one with characters.")
@click.option("--rate", type=Number(1e-3, 1e12), help="Samples a second, where the file does not tell.")
@click.option("--idle", type=click.Choice(["auto", "high", "low"]), default="auto", show_default=True,
              help="Level of the line at rest (mark).")  # fmt: skip
@click.option("--threshold", default="auto", show_default=True, help="Level, or LOW,HIGH, in the file's own units.")
@click.option("--clock-ppm", type=Number(0, 1e5), default=0.0, help="How far the recorder's clock may be out.")
@click.option("--expect", help="Text that was sent, or @FILE with it.")
@click.option("--limits", type=click.Path(path_type=Path), help="Your own limits, as TOML.")
@click.option("--window", type=Number(0, 0.99), default=0.2, show_default=True,
              help="Width of a receiver's look, as a share of the unit.")  # fmt: skip
@click.option("--unshift-on-space", is_flag=True, help="The machine goes back to letters on a space.")
@click.option("--out-plot", type=click.Path(path_type=Path), help="Write the picture to this SVG file.")
@json_option
def read(file: Path, out_plot: Path | None, as_json: bool, **said: Any) -> int:
    """Read a recorded line signal: speed, text, and which contact is late by how much.

    FILE is CSV or TSV, VCD, WAV, NPY or NPZ, or raw logic samples (then give --rate). The format is
    recognised by its content.

    Example: tapewright line read capture.csv --nominal 45.45 --expect "RYRYRY"
    """
    from tapewright.adapters.reports.line_json import line_document
    from tapewright.adapters.reports.line_plot import line_plot
    from tapewright.adapters.reports.line_text import line_text
    from tapewright.app.read_line import HowToRead, read_line
    from tapewright.wiring import capture_files

    how = HowToRead(said["channel"], said["rate"], _threshold(said["threshold"]))
    settings = _settings(said)
    with progress("reading the capture") as report_progress:
        report = read_line(
            file, how, settings, files=capture_files(), progress=report_progress, fingerprint=as_json
        )
    if out_plot is not None:
        out_plot.write_text(line_plot(report), encoding="utf-8")
    if as_json:
        write_json(line_document(report))
    else:
        click.echo(line_text(report))
    return exit_code(report.result.verdicts) or DONE


def _settings(said: dict[str, Any]) -> Any:
    from tapewright.adapters.limits_file import read_limits
    from tapewright.core.line.line_result import LineSettings
    from tapewright.core.line.verdict import CHECKS

    alphabet = ALPHABETS[said["alphabet"]]
    units = {check: unit for check, (unit, _) in CHECKS.items()}
    return LineSettings(
        alphabet=alphabet,
        nominal_baud=_nominal(said["nominal"]),
        idle=said["idle"],
        clock_ppm=said["clock_ppm"],
        expect=_expected(said["expect"], alphabet, unshift=said["unshift_on_space"]),
        limits=read_limits(said["limits"], units) if said["limits"] else (),
        window=said["window"],
        unshift_on_space=said["unshift_on_space"],
    )


def _nominal(text: str) -> float | None:
    """Give the nominal speed; 45.45 stands for 1000/22 exactly, as the trade means it."""
    if text == "auto":
        return None
    try:
        baud = float(text.replace(",", "."))
    except ValueError:
        baud = math.nan
    if not SLOWEST_BAUD <= baud <= FASTEST_BAUD:
        raise WrongUseError(f"--nominal: expected auto or {SLOWEST_BAUD:g} to {FASTEST_BAUD:g} baud; found {text!r}.")
    return 1000 / 22 if text in ("45.45", "45,45", "45.5", "45") else baud


def _threshold(text: str) -> Literal["auto"] | tuple[float, ...]:
    if text == "auto":
        return "auto"
    try:
        return tuple(float(part) for part in text.split(","))
    except ValueError:
        raise WrongUseError(f"--threshold: expected auto, LEVEL or LOW,HIGH; found {text!r}.") from None


def _expected(text: str | None, alphabet: Alphabet, *, unshift: bool) -> tuple[str, ...] | None:
    if text is None:
        return None
    try:
        return tuple(encode(text_argument(text), alphabet, unshift_on_space=unshift))
    except ValueError as reason:
        raise WrongUseError(f"--expect: {reason}.") from reason
