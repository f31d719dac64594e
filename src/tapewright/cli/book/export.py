"""`tapewright book export`."""

from pathlib import Path

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import json_option, progress, write_json


@click.command()
@click.option("-o", "--out", required=True, metavar="FILE.zip", type=click.Path(dir_okay=False, path_type=Path),
              help="Where to write the bundle.")  # fmt: skip
@click.option("--machine", metavar="NAME", help="Only this machine (name or key); otherwise the whole book.")
@book_option
@json_option
def export(out: Path, machine: str | None, book: str | None, as_json: bool) -> None:
    """Write a machine, or the whole book, as a bundle: a zip of plain JSON, CSV and raw files, each with its hash.

    The same book gives the same bytes. Others may write to the book meanwhile; what they add later is not in it.

    Example: tapewright book export -o petrel.zip --machine Petrel
    """
    from tapewright.adapters.reports.bundle_report import exported_document, exported_text
    from tapewright.app.export_book import export_book, lines_as_they_stand
    from tapewright.wiring import new_bundle, open_book, program_version

    opened = open_book(book, create=False)
    try:
        key = opened.machine(machine).key if machine is not None else None
        with progress("writing the bundle") as report_progress:
            lines = lines_as_they_stand(opened, key)
            exported = export_book(opened, lines, program_version(), new_bundle(out), report_progress)
    finally:
        opened.close()
    if as_json:
        write_json(exported_document(exported, out))
    else:
        click.echo(exported_text(exported, out))
