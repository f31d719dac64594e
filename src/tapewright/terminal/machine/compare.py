"""`tapewright machine compare`: two machines side by side, or one at two dates."""

from pathlib import Path

import click

from tapewright.furniture.command import DONE, NOT_SHOWN, json_option, write_json
from tapewright.furniture.keeping import book_option
from tapewright.furniture.whole_file import write_whole


@click.command()
@click.argument("a", metavar="MACHINE")
@click.argument("b", metavar="[MACHINE]", required=False)
@click.option(
    "--from",
    "from_",
    metavar="WHEN",
    help="Evidence of the first side: as-found, between, as-left, or a date (to its end, UTC).",
)
@click.option("--to", "to", metavar="WHEN", help="Evidence of the second side, likewise.")
@click.option("--out-plot", type=click.Path(path_type=Path), help="Write the picture to this SVG file.")
@book_option
@json_option
def compare(
    a: str, b: str | None, from_: str | None, to: str | None, out_plot: Path | None, book: str | None, as_json: bool
) -> int:
    """Lay two machines side by side, or one as found against as left: speed, contacts, tape, coil, gauges.

    With one MACHINE, its evidence as found is compared with that as left, unless --from and --to say otherwise. With
    two, the newest evidence of each. A difference is what the second side has more, with its doubt; what one and the
    same instrument brings to both sides is taken out of it. Exit code 3 when nothing can be compared.

    Example: tapewright machine compare Heron Petrel --out-plot both.svg
    """
    from tapewright.book.record import open_book
    from tapewright.book.side_by_side.compare_machines import compare_machines, moment_of
    from tapewright.book.side_by_side.json import side_by_side_document
    from tapewright.book.side_by_side.plot import side_by_side_plot
    from tapewright.book.side_by_side.text import side_by_side_text

    if b is None:
        from_, to = from_ or "as-found", to or "as-left"
    moments = moment_of(from_, "--from"), moment_of(to, "--to")
    opened = open_book(book, create=False)
    try:
        compared = compare_machines(opened, a, b or a, *moments)
    finally:
        opened.close()
    if out_plot is not None:
        write_whole(out_plot, side_by_side_plot(compared))
    if as_json:
        write_json(side_by_side_document(compared))
    else:
        click.echo(side_by_side_text(compared))
    return DONE if compared.result.compared else NOT_SHOWN
