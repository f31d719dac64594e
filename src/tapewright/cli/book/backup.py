"""`tapewright book backup`."""

from pathlib import Path

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import json_option, progress, write_json


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--overwrite", is_flag=True, help="Replace a file of this name, when the new backup is whole.")
@book_option
@json_option
def backup(file: Path, overwrite: bool, book: str | None, as_json: bool) -> None:
    """Back the book up to FILE while others go on writing, and check the backup before it counts.

    From a SQLite book comes a copy that is a book itself, of one moment. A book on a PostgreSQL server comes as a
    bundle. A backup of a damaged book is not kept.

    Example: tapewright book backup /media/stick/2026-03-01.book
    """
    from tapewright.adapters.reports.backup_report import backed_up_document, backed_up_text
    from tapewright.app.back_up import back_up
    from tapewright.wiring.carrying import shelf_of

    with progress("backing up and checking") as report_progress:
        done = back_up(shelf_of(book), file, report_progress, overwrite=overwrite)
    if as_json:
        write_json(backed_up_document(done))
    else:
        click.echo(backed_up_text(done))
