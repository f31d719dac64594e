"""`tapewright book recompute`: measure old evidence again."""

from pathlib import Path

import click

from tapewright.cli.book_option import book_option
from tapewright.cli.output import DONE, NOT_SHOWN, OUTSIDE, json_option, progress, write_json
from tapewright.errors import TapewrightError, WrongUseError

#: sorts of evidence that can be judged by other limits
SORTS = ("line", "tape", "gauge")


@click.command()
@click.option("--machine", metavar="NAME", help="Only this machine's.")
@click.option("--limits", "given", multiple=True, metavar="SORT=FILE",
              help="Judge by these limits: line=FILE, tape=FILE, or gauge=SHEET; may stand several times.")  # fmt: skip
@click.option("--dry-run", is_flag=True, help="Only show; write nothing.")
@click.option("--by", default="", help="Who asks for it.")
@book_option
@json_option
def recompute(
    machine: str | None, given: tuple[str, ...], dry_run: bool, by: str, book: str | None, as_json: bool
) -> int:
    """Measure the evidence of the book again, from its raw files and settings, and say what comes out differently.

    Where a verdict or a figure is another, a line of kind "verdicts" that rests on the old one is written; the old one
    stays as it is. Without --limits each is judged by the limits it was judged by, so that what is new is the program.

    Exit code 1 when something is outside, 3 when something is not shown, 4 when something could not be measured again.
    """
    from tapewright.adapters.reports.recompute_report import recompute_document, recompute_text
    from tapewright.core.book.in_words import verdicts_of
    from tapewright.wiring.books import measured_again, open_book

    limits = dict(_limits(word) for word in given)
    opened = open_book(book, create=False)
    try:
        names = [opened.machine(machine).key] if machine else [m.key for m in opened.machines()]
        found = []
        with progress("measuring again") as report:
            for place, key in enumerate(names):
                found += measured_again(opened, key, limits, write=not dry_run, by=by)
                report((place + 1) / len(names))
    finally:
        opened.close()
    if as_json:
        write_json(recompute_document(found, written=not dry_run))
    else:
        click.echo(recompute_text(found, written=not dry_run))
    states = {str(v.get("state")) for each in found if each.after for v in verdicts_of(each.after)}
    if any(each.state == "cannot" for each in found):
        return TapewrightError.exit_code
    return OUTSIDE if "outside" in states else NOT_SHOWN if "not shown" in states else DONE


def _limits(word: str) -> tuple[str, Path]:
    sort, equals, file = word.partition("=")
    if not equals or sort not in SORTS or not Path(file).is_file():
        raise WrongUseError(f"--limits: expected {', '.join(f'{name}=FILE' for name in SORTS)}; found {word!r}.")
    return sort, Path(file)
