"""`tapewright compare`: a line capture and a tape picture of the same event."""

from pathlib import Path
from typing import Any

import click

from tapewright.alphabets import ALPHABETS
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, progress, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import files_given, text_argument


@click.command()
@click.argument("line_capture", type=click.Path(path_type=Path))
@click.argument("tape_picture", type=click.Path(path_type=Path))
@click.option("--expect", metavar="TEXT|@FILE", help="What was sent; without it no side can be cleared.")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True,
              help="Code table: ita2, or us for the US commercial figures.")
@click.option("--strip", type=click.IntRange(1), default=1, show_default=True, help="Which strip of the picture.")
@keep_options
@json_option
def compare(line_capture: Path, tape_picture: Path, keep: Keeping | None, as_json: bool, **said: Any) -> int:
    """Say on which side a fault lies: the contacts, the punch, or the keys and code bars before both.

    LINE_CAPTURE and TAPE_PICTURE must be of the same event: the same keys, struck once, recorded and punched.

    Example: tapewright compare capture.csv scan.png --expect "RYRYRY"
    """
    from tapewright.witnesses import measure as both
    from tapewright.witnesses.report import compare_text

    settings = said | {"expect": None if said["expect"] is None else text_argument(said["expect"])}
    files = files_given(capture=line_capture, picture=tape_picture)
    with progress("reading the capture") as report_progress:
        report = both.measure(files, settings, progress=report_progress)
    found = report.found
    if as_json:
        write_json(both.document(report))
    else:
        click.echo(compare_text(found, report.alphabet, report.tape_says))
    keep_result(keep, lambda: both.document(report), files, "compare", settings, quiet=as_json)
    if found.places or any(found.extras):
        return OUTSIDE
    return NOT_SHOWN if found.beyond else DONE
