"""`tapewright book check`."""

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import DONE, OUTSIDE, json_option, progress, write_json


@click.command()
@book_option
@json_option
def check(book: str | None, as_json: bool) -> int:
    """See whether the book is whole: the database, every line against its key, every raw file against its hash.

    With damage it says what is whole and how to save it, and the exit code is 1. Others may write meanwhile.

    Example: tapewright book check
    """
    from tapewright.adapters.reports.check_report import check_document, check_text
    from tapewright.wiring.carrying import check_the_book

    with progress("checking the book") as report_progress:
        found, said = check_the_book(book, report_progress)
    if as_json:
        write_json(check_document(found, said))
    else:
        click.echo(check_text(found, said))
    return OUTSIDE if found.faults else DONE
