"""`tapewright trim`: from trials of knobs and readings to the next move."""

from pathlib import Path

import click

from tapewright.adapters.measuring.trim import measure
from tapewright.adapters.reports.trim_report import trim_json, trim_text
from tapewright.cli.keeping import Keeping, keep_options, keep_result
from tapewright.cli.output import exit_code, json_option, write_json
from tapewright.cli.parameters import files_given


@click.command()
@click.argument("trials", metavar="TRIALS")
@click.option("--sheet", metavar="SHEET", help="Sheet that readings with a `requirement` take their limits from.")
@click.option("--variant", default="", help="Which variant of the machine; else what the sheet says.")
@keep_options
@json_option
def trim(trials: str, sheet: str | None, variant: str, keep: Keeping | None, as_json: bool) -> int:
    """Recommend one move from the trials in TRIALS (TOML or CSV), predict every reading, say how sure.

    Exit code 0 when every reading is shown within, 1 when one is outside, 3 when one is not shown.
    """
    files = files_given(trials=Path(trials), sheet=Path(sheet) if sheet else None)
    settings = {"variant": variant} if sheet else {}
    advice = measure(files, settings)
    if as_json:
        write_json(trim_json(advice))
    else:
        click.echo(trim_text(advice))
    keep_result(keep, lambda: trim_json(advice), files, "trim", settings, quiet=as_json)
    return exit_code(advice.now)
