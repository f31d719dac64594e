"""`tapewright book import`."""

from pathlib import Path

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import json_option, progress, write_json
from tapewright.cli.parameters import Number


@click.command("import")
@click.argument("bundle", metavar="FILE.zip", type=click.Path(path_type=Path))
@click.option("--rename", is_flag=True, help="Where another machine has the name already, put a number behind it.")
@click.option("--largest", metavar="GIB", type=Number(0.001, 1e6), default=16.0, show_default=True,
              help="Refuse a bundle that is larger than this unpacked.")  # fmt: skip
@book_option
@json_option
def take_in(bundle: Path, rename: bool, largest: float, book: str | None, as_json: bool) -> None:
    """Take a bundle into the book. Every hash and every key is checked first; it goes in whole or not at all.

    A machine that is in the book already gets the lines it lacks; nothing stands there twice. A machine whose name
    another one has here is refused, or with --rename taken in as a machine of its own.

    Example: tapewright book import petrel.zip
    """
    from tapewright.adapters.reports.bundle_report import imported_document, imported_text
    from tapewright.app.import_book import check_bundle, import_book
    from tapewright.wiring.books import open_book
    from tapewright.wiring.carrying import open_bundle

    with open_bundle(bundle, largest_gib=largest) as reader:
        with progress("checking the bundle") as report_progress:
            checked = check_bundle(reader, str(bundle), report_progress)
        opened = open_book(book)
        try:
            with progress("taking it in") as report_progress:
                imported = import_book(opened, checked, report_progress, rename=rename)
        finally:
            opened.close()
    if as_json:
        write_json(imported_document(imported, bundle))
    else:
        click.echo(imported_text(imported, bundle))
