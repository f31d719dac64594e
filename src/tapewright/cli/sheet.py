"""`tapewright sheet`: a machine's requirements against what the gauges say."""

import click

from tapewright.adapters.reports.sheet_report import sheet_json, sheet_text
from tapewright.adapters.sheet_files.files import SheetFilesOnDisk
from tapewright.app.check_sheet import check_sheet
from tapewright.cli.output import DONE, NOT_SHOWN, exit_code, json_option, write_json


@click.group()
def sheet() -> None:
    """Check a machine's sheet, print the bench form, type readings in.

    SHEET is a TOML file, or heron, petrel or template for the sheets that come with the program.
    """


@sheet.command()
@click.argument("sheet_name", metavar="SHEET")
@click.option("--readings", metavar="FILE", help="Journal of readings and changes, TOML or CSV.")
@click.option("--variant", default="", help="Which variant of the machine; else what the sheet says.")
@json_option
def check(sheet_name: str, readings: str | None, variant: str, as_json: bool) -> int:
    """Judge every requirement; say what comes next, why, and what must be measured again."""
    result = check_sheet(SheetFilesOnDisk(), sheet_name, readings, variant)
    if as_json:
        write_json(sheet_json(result))
    else:
        click.echo(sheet_text(result))
    code = exit_code(c.verdict for c in result.checked if c.verdict is not None)
    return NOT_SHOWN if code == DONE and any(c.verdict is None for c in result.checked) else code
