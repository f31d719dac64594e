"""`tapewright machine history`, `line` and `assembly`: read what was written."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import click

from tapewright.book.kinds import KINDS
from tapewright.furniture.command import json_option, write_json
from tapewright.furniture.keeping import book_option


@click.command()
@click.argument("name")
@click.option("--kind", "kinds", multiple=True, type=click.Choice(list(KINDS)), help="Only lines of this kind.")
@click.option("--limit", type=click.IntRange(1), default=50, show_default=True, help="At most so many lines.")
@click.option("--before", type=click.IntRange(1), metavar="NUMBER", help="Only lines before this one: the next page.")
@book_option
@json_option
def history(name: str, kinds: tuple[str, ...], limit: int, before: int | None, book: str | None, as_json: bool) -> None:
    """List the lines about a machine, newest first, page by page."""
    from tapewright.book.machine_report import history_document, history_text

    with _opened(book) as opened:
        machine = opened.machine(name)
        lines = opened.timeline(machine.key, kinds=kinds, before=before, limit=limit)
    if as_json:
        write_json(history_document(machine, lines, limit))
    else:
        click.echo(history_text(lines, limit))


@click.command()
@click.argument("key")
@book_option
@json_option
def line(key: str, book: str | None, as_json: bool) -> None:
    """Show one line whole. KEY is its fingerprint, or enough of its beginning."""
    from tapewright.book.machine_report import entry_document, entry_text

    with _opened(book) as opened:
        entry = opened.entry(key)
    if as_json:
        write_json(entry_document(entry))
    else:
        click.echo(entry_text(entry))


@click.command()
@click.argument("name")
@book_option
@json_option
def assembly(name: str, book: str | None, as_json: bool) -> None:
    """Read the disassembly log backwards: what goes back in which order, with its shims, springs and photos."""
    from tapewright.book.machine_report import assembly_document, assembly_text
    from tapewright.book.standing import standing

    with _opened(book) as opened:
        machine = opened.machine(name)
        steps = standing(opened.entries(machine.key, kinds=("dismantled",)))[::-1]
    if as_json:
        write_json(assembly_document(machine, steps))
    else:
        click.echo(assembly_text(machine, steps))


@contextmanager
def _opened(book: str | None) -> Iterator[Any]:
    from tapewright.book.record import open_book

    opened = open_book(book, create=False)
    try:
        yield opened
    finally:
        opened.close()
