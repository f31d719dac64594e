"""`tapewright machine show`."""

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import json_option, write_json


@click.command()
@click.argument("name")
@book_option
@json_option
def show(name: str, book: str | None, as_json: bool) -> None:
    """Show what is known of a machine: what it is, its newest evidence, what is still owed, the last lines.

    NAME is its name or its key.
    """
    from tapewright.adapters.reports.machine_report import overview_document, overview_text
    from tapewright.app.look_at_machine import look_at_machine
    from tapewright.wiring.books import open_book

    opened = open_book(book, create=False)
    overview = look_at_machine(opened, name)
    opened.close()
    if as_json:
        write_json(overview_document(overview))
    else:
        click.echo(overview_text(overview))
