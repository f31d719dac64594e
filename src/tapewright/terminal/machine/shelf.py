"""`tapewright machine add` and `list`.

`tapewright machine show`.
"""

from typing import Any

import click

from tapewright.furniture.command import json_option, write_json
from tapewright.furniture.keeping import book_option
from tapewright.furniture.options import Number


@click.command()
@click.argument("name")
@book_option
@json_option
def show(name: str, book: str | None, as_json: bool) -> None:
    """Show what is known of a machine: what it is, its newest evidence, what is still owed, the last lines.

    NAME is its name or its key.
    """
    from tapewright.book.look_at_machine import look_at_machine
    from tapewright.book.machine_report import overview_document, overview_text
    from tapewright.book.record import open_book

    opened = open_book(book, create=False)
    overview = look_at_machine(opened, name)
    opened.close()
    if as_json:
        write_json(overview_document(overview))
    else:
        click.echo(overview_text(overview))


@click.command()
@click.argument("name")
@click.option("--model", default="", help="Model or type, as you call it.")
@click.option("--serial", default="", help="Serial number, or where there is none, what tells it from its sisters.")
@click.option("--alphabet", default="", help="Alphabet it is built for, such as ita2 or us.")
@click.option("--nominal", type=Number(10, 400), help="Speed it should have, in baud.")
@click.option("--advisor", default="", help="Machine model of the advisor: keyboard-punch, page-printer, tape-reader.")
@click.option("--module", "modules", multiple=True, help="A part it has that others lack; may stand several times.")
@click.option("--variant", "variants", multiple=True, help="Which variant it is; may stand several times.")
@click.option("--by", default="", help="Who writes this.")
@book_option
@json_option
def add(book: str | None, as_json: bool, by: str, **said: Any) -> None:
    """Begin the record of a machine. NAME is what people call it; one machine a name.

    Example: tapewright machine add Petrel --model "keyboard punch" --nominal 45.45 --by Ada
    """
    from tapewright.book.keep_result import begin_machine
    from tapewright.book.machine_report import entry_document
    from tapewright.book.record import new_machine_key, open_book

    opened = open_book(book)
    entry = begin_machine(opened, new_machine_key(), _identity(said), by=by)
    if as_json:
        write_json(entry_document(entry))
    else:
        click.echo(f"{said['name']} is in the book: {opened.machine(entry.new.machine).key}.")
    opened.close()


def _identity(said: dict[str, Any]) -> dict[str, Any]:
    body = {key: list(value) if isinstance(value, tuple) else value for key, value in said.items() if value}
    return {("nominal_baud" if key == "nominal" else key): value for key, value in body.items()}


@click.command("list")
@book_option
@json_option
def list_machines(book: str | None, as_json: bool) -> None:
    """List the machines of the book, by name, with the last day something was written."""
    from tapewright.book.machine_report import shelf_document, shelf_text
    from tapewright.book.record import open_book

    opened = open_book(book, create=False)
    machines = opened.machines()
    opened.close()
    if as_json:
        write_json(shelf_document(machines))
    else:
        click.echo(shelf_text(machines))
