"""`tapewright book import`.

`tapewright book backup`.

`tapewright book check`.

`tapewright book export`.

`tapewright book recompute`: measure old evidence again.

`tapewright book restore`.
"""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapewright.errors import TapewrightError, WrongUseError
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, progress, write_json
from tapewright.furniture.keeping import book_option
from tapewright.furniture.options import Number

if TYPE_CHECKING:
    from tapewright.book.export_book import Exported


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--overwrite", is_flag=True, help="Replace a file of this name, when the new backup is whole.")
@book_option
@json_option
def backup(file: Path, overwrite: bool, book: str | None, as_json: bool) -> None:
    """Back the book up to FILE while others go on writing, and check the backup before it counts.

    From a SQLite book comes a copy that is a book itself, of one moment. A book on a PostgreSQL server comes as a
    bundle. A backup of a damaged book is not kept.

    Example: tapewright book backup /media/stick/2026-03-01.book
    """
    from tapewright.book.back_up import back_up
    from tapewright.book.carrying import shelf_of
    from tapewright.book.reports import backed_up_document, backed_up_text

    with progress("backing up and checking") as report_progress:
        done = back_up(shelf_of(book), file, report_progress, overwrite=overwrite)
    if as_json:
        write_json(backed_up_document(done))
    else:
        click.echo(backed_up_text(done))


@click.command()
@book_option
@json_option
def check(book: str | None, as_json: bool) -> int:
    """See whether the book is whole: the database, every line against its key, every raw file against its hash.

    With damage it says what is whole and how to save it, and the exit code is 1. Others may write meanwhile.

    Example: tapewright book check
    """
    from tapewright.book.carrying import check_the_book
    from tapewright.book.reports import check_document, check_text

    with progress("checking the book") as report_progress:
        found, said = check_the_book(book, report_progress)
    if as_json:
        write_json(check_document(found, said))
    else:
        click.echo(check_text(found, said))
    return OUTSIDE if found.faults else DONE


@click.command()
@click.option(
    "-o",
    "--out",
    required=True,
    metavar="FILE.zip",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Where to write the bundle.",
)
@click.option("--machine", metavar="NAME", help="Only this machine (name or key); otherwise the whole book.")
@click.option(
    "--whole-only", is_flag=True, help="From a damaged book: only what is whole; the rest as text in left-out.jsonl."
)
@book_option
@json_option
def export(out: Path, machine: str | None, whole_only: bool, book: str | None, as_json: bool) -> None:
    """Write a machine, or the whole book, as a bundle: a zip of plain JSON, CSV and raw files, each with its hash.

    The same book gives the same bytes. Others may write to the book meanwhile; what they add later is not in it.

    Example: tapewright book export -o petrel.zip --machine Petrel
    """
    from tapewright.book.carrying import new_bundle, save_what_is_whole
    from tapewright.book.export_book import export_book, lines_as_they_stand
    from tapewright.book.record import open_book, program_version
    from tapewright.errors import WrongUseError

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
    from tapewright.book.reports import exported_document, exported_text

    if as_json:
        write_json(exported_document(exported, out))
    else:
        click.echo(exported_text(exported, out))


#: sorts of evidence that can be judged by other limits
SORTS = ("line", "tape", "gauge")


@click.command()
@click.option("--machine", metavar="NAME", help="Only this machine's.")
@click.option(
    "--limits",
    "given",
    multiple=True,
    metavar="SORT=FILE",
    help="Judge by these limits: line=FILE, tape=FILE, or gauge=SHEET; may stand several times.",
)
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
    from tapewright.book.in_words import verdicts_of
    from tapewright.book.recompute_report import recompute_document, recompute_text
    from tapewright.book.record import measured_again, open_book

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


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--yes", is_flag=True, help="Even when the book holds lines that the backup lacks.")
@book_option
@json_option
def restore(file: Path, yes: bool, book: str | None, as_json: bool) -> None:
    """Put a backup in the place of the book, whole or not at all. The backup is checked first.

    Where the book holds lines that the backup lacks, this is refused without --yes; with it the book as it was is kept
    beside the new one, as is a damaged book always. A backup that is a bundle is taken in instead, as is any backup on
    a PostgreSQL server: the book then keeps what it has.

    Example: tapewright book restore /media/stick/2026-03-01.book
    """
    from tapewright.book.back_up import restore as put_back
    from tapewright.book.carrying import shelf_of
    from tapewright.book.reports import restored_document, restored_text

    with progress("checking and restoring") as report_progress:
        done = put_back(shelf_of(book, backup=file), file, report_progress, yes=yes)
    if as_json:
        write_json(restored_document(done))
    else:
        click.echo(restored_text(done))


@click.command()
@click.option("--name", help="Call this bench so: it stands in checks and proofs made here.")
@click.option("--know", metavar="KEY", help="Know another bench by its public key, 64 hex digits, as it told you.")
@click.option("--as", "as_", metavar="NAME", help="What to call the bench of --know.")
@json_option
def bench(name: str | None, know: str | None, as_: str | None, as_json: bool) -> None:
    """Show the public key that this bench signs its lines with, and the benches known here.

    The private key lies outside the book, in the user's data folder (TAPEWRIGHT_KEYS names another). Whoever has it
    can sign as this bench: copy it to a second place that only you open, and hand on the public key alone.

    Example: tapewright book bench --name "Skerry Point"
    """
    from tapewright.book import keys

    if (know is None) != (as_ is None):
        raise WrongUseError("--know KEY and --as NAME belong together.")
    if name is not None:
        keys.name_bench(name)
    if know is not None and as_ is not None:
        keys.know(know, as_)
    own = keys.own_key().bench
    others = {key: said for key, said in keys.known_benches().items() if key != own}
    if as_json:
        known = [{"bench": key, "name": said} for key, said in others.items()]
        write_json({"format": "tapewright/book-bench/1", "bench": own, "name": keys.bench_name(), "known": known})
        return
    click.echo(f"{keys.bench_name() or keys.OWN_NAME}: {own}")
    for key, said in others.items():
        click.echo(f"known: {said}: {key}")


@click.command("import")
@click.argument("bundle", metavar="FILE.zip", type=click.Path(path_type=Path))
@click.option("--rename", is_flag=True, help="Where another machine has the name already, put a number behind it.")
@click.option(
    "--largest",
    metavar="GIB",
    type=Number(0.001, 1e6),
    default=16.0,
    show_default=True,
    help="Refuse a bundle that is larger than this unpacked.",
)
@book_option
@json_option
def take_in(bundle: Path, rename: bool, largest: float, book: str | None, as_json: bool) -> int:
    """Take a bundle into the book. Every hash and every key is checked first; it goes in whole or not at all.

    A machine that is in the book already gets the lines it lacks; nothing stands there twice. A machine whose name
    another one has here is refused, or with --rename taken in as a machine of its own. Signatures are checked, and it
    is said by which bench the lines are signed, and whether its chain is whole; exit code 1 when one is broken.

    Example: tapewright book import petrel.zip
    """
    from tapewright.book.carrying import open_bundle
    from tapewright.book.import_book import check_bundle, import_book
    from tapewright.book.keys import known_benches
    from tapewright.book.record import open_book
    from tapewright.book.reports import imported_document, imported_text

    known = known_benches()
    with open_bundle(bundle, largest_gib=largest) as reader:
        with progress("checking the bundle") as report_progress:
            checked = check_bundle(reader, str(bundle), report_progress, known)
        opened = open_book(book)
        try:
            with progress("taking it in") as report_progress:
                imported = import_book(opened, checked, report_progress, rename=rename, known=known)
        finally:
            opened.close()
    if as_json:
        write_json(imported_document(imported, bundle))
    else:
        click.echo(imported_text(imported, bundle))
    return OUTSIDE if imported.broken else DONE
