"""`tapewright book restore`."""

from pathlib import Path

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import json_option, progress, write_json


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Even when the book holds lines that the backup lacks.")
@book_option
@json_option
def restore(file: Path, yes: bool, book: str | None, as_json: bool) -> None:
    """Put a backup in the place of the book, whole or not at all. The backup is checked first.

    Where the book holds lines that the backup lacks, this is refused without --yes; with it the book as it was is kept
    beside the new one, as is a damaged book always. A backup that is a bundle is taken in instead, as is any backup on
    a PostgreSQL server: the book then keeps what it has.

    Example: tapewright book restore /media/stick/2026-03-01.book
    """
    from tapewright.adapters.reports.backup_report import restored_document, restored_text
    from tapewright.app.back_up import restore as put_back
    from tapewright.wiring.carrying import shelf_of

    with progress("checking and restoring") as report_progress:
        done = put_back(shelf_of(book, backup=file), file, report_progress, yes=yes)
    if as_json:
        write_json(restored_document(done))
    else:
        click.echo(restored_text(done))
