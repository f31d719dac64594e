"""`tapewright book export`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import json_option, progress, write_json

if TYPE_CHECKING:
    from tapewright.app.export_book import Exported


@click.command()
@click.option("-o", "--out", required=True, metavar="FILE.zip", type=click.Path(dir_okay=False, path_type=Path),
              help="Where to write the bundle.")  # fmt: skip
@click.option("--machine", metavar="NAME", help="Only this machine (name or key); otherwise the whole book.")
@click.option("--whole-only", is_flag=True,
              help="From a damaged book: only what is whole; the rest as text in left-out.jsonl.")  # fmt: skip
@book_option
@json_option
def export(out: Path, machine: str | None, whole_only: bool, book: str | None, as_json: bool) -> None:
    """Write a machine, or the whole book, as a bundle: a zip of plain JSON, CSV and raw files, each with its hash.

    The same book gives the same bytes. Others may write to the book meanwhile; what they add later is not in it.

    Example: tapewright book export -o petrel.zip --machine Petrel
    """
    from tapewright.app.export_book import export_book, lines_as_they_stand
    from tapewright.errors import WrongUseError
    from tapewright.wiring.books import open_book, program_version
    from tapewright.wiring.carrying import new_bundle, save_what_is_whole

    if whole_only and machine is not None:
        raise WrongUseError("--whole-only saves the whole book; leave --machine out.")
    if whole_only:
        with progress("saving what is whole") as report_progress:
            exported = save_what_is_whole(book, out, report_progress)
        _say(exported, out, as_json=as_json)
        return
    opened = open_book(book, create=False)
    try:
        key = opened.machine(machine).key if machine is not None else None
        with progress("writing the bundle") as report_progress:
            lines = lines_as_they_stand(opened, key)
            exported = export_book(opened, lines, program_version(), new_bundle(out), report_progress)
    finally:
        opened.close()
    _say(exported, out, as_json=as_json)


def _say(exported: "Exported", out: Path, *, as_json: bool) -> None:
    from tapewright.adapters.reports.bundle_report import exported_document, exported_text

    if as_json:
        write_json(exported_document(exported, out))
    else:
        click.echo(exported_text(exported, out))
