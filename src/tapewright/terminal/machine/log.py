"""`tapewright machine log`: write a line about a machine."""

from pathlib import Path
from typing import Any

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.command import json_option, write_json
from tapewright.furniture.keeping import book_option


@click.command()
@click.argument("name", required=False)
@click.argument("kind", required=False)
@click.argument("fields", nargs=-1, metavar="[FIELD=VALUE]...")
@click.option(
    "--file",
    "files",
    multiple=True,
    type=click.Path(path_type=Path),
    help="A photo or other file that belongs to it; may stand several times.",
)
@click.option("--by", default="", help="Who says so.")
@click.option("--rests-on", multiple=True, metavar="KEY", help="A line it was made from; the beginning of its key.")
@click.option("--replaces", metavar="KEY", help="The line of the same kind that it withdraws; that one stays in sight.")
@click.option("--reason", default="", help="Why that line is withdrawn; needed with --replaces, as is --by.")
@click.option("--kinds", is_flag=True, help="List the kinds of line with their fields, and stop.")
@book_option
@json_option
def log(kinds: bool, as_json: bool, **said: Any) -> None:
    """Write a line about machine NAME: what was found, taken apart, changed, checked, seen.

    \b
    tapewright machine log Petrel dismantled part="punch block" bag=7 shims="2 x 0.10 under the left foot"
    tapewright machine log Petrel adjustment what="contact 3 gap" before=0.42 after=0.50 unit=mm recheck="contact 4 gap"
    tapewright machine log Petrel recheck what="contact 4 gap" state=done
    tapewright machine log Petrel photo shows="the latch as found" --file latch.jpg
    """  # noqa: D301 (click reads a real backspace as "do not re-wrap")
    from tapewright.book.machine_report import entry_document
    from tapewright.book.reports import kinds_document, kinds_text

    if kinds:
        write_json(kinds_document()) if as_json else click.echo(kinds_text())
        return
    if not said["name"] or not said["kind"]:
        raise click.UsageError("Give NAME, KIND and fields; --kinds lists them.")
    entry = _write(said)
    if as_json:
        write_json(entry_document(entry))
    else:
        click.echo(f"Line {entry.number}: {entry.key[:12]}.")


def _write(said: dict[str, Any]) -> Any:
    from tapewright.book.entry import NewEntry
    from tapewright.book.keep_result import log_line
    from tapewright.book.record import open_book
    from tapewright.book.store.laid_out import raw_file
    from tapewright.book.typed import body_from, kind_named

    try:
        kind = kind_named(said["kind"])
        body = body_from(kind, said["fields"])
    except ValueError as problem:
        raise WrongUseError(f"{problem}. `tapewright machine log --kinds` lists all.") from problem
    raw = [raw_file(kind.replace(" ", "-"), path) for path in said["files"]]
    book = open_book(said["book"], create=False)
    try:
        line = NewEntry(said["name"], kind, body, said["by"])
        return log_line(book, line, raw, rests_on=said["rests_on"], replaces=said["replaces"], reason=said["reason"])
    finally:
        book.close()
