"""`tapewright trim`: from trials of knobs and readings to the next move."""

import click

from tapewright.adapters.reports.trim_report import trim_json, trim_text
from tapewright.adapters.sheet_files.trials import TrialFilesOnDisk
from tapewright.app.trim_machine import trim_machine
from tapewright.cli.output import exit_code, json_option, write_json


@click.command()
@click.argument("trials", metavar="TRIALS")
@json_option
def trim(trials: str, as_json: bool) -> int:
    """Recommend one move from the trials in TRIALS (TOML or CSV), predict every reading, say how sure.

    Exit code 0 when every reading is shown within, 1 when one is outside, 3 when one is not shown.
    """
    advice = trim_machine(TrialFilesOnDisk(), trials)
    if as_json:
        write_json(trim_json(advice))
    else:
        click.echo(trim_text(advice))
    return exit_code(advice.now)
