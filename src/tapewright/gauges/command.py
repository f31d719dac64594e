"""`tapewright sheet`: requirements against what the gauges say; `tapewright trim`: the screws' next move."""

import difflib
import sys
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.command import DONE, NOT_SHOWN, exit_code, json_option
from tapewright.furniture.document import encode_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import click_options, files_given
from tapewright.furniture.record import record
from tapewright.furniture.settings import to_steps
from tapewright.furniture.whole_file import write_whole
from tapewright.gauges.checking import SheetCheck, narrowed
from tapewright.gauges.document import sheet_document
from tapewright.gauges.files.journal_file import append_journal, journal_toml, read_journal
from tapewright.gauges.files.on_disk import TO_BEGIN_FROM, built_in_bytes
from tapewright.gauges.form import Box, boxes_of, form_html, form_pdf
from tapewright.gauges.gauge import is_length, out_of_proportion
from tapewright.gauges.journal import Journal
from tapewright.gauges.measure import document, measure, sheet_named
from tapewright.gauges.requirement import Sheet
from tapewright.gauges.settings import SheetSettings
from tapewright.gauges.trim.measure import document as trim_document
from tapewright.gauges.trim.measure import measure as measure_trim
from tapewright.gauges.typing_in import Question, Said, TypingIn, type_readings_in
from tapewright.gauges.words import sheet_text, trim_text
from tapewright.number import Verdict

#: stands for the requirement that comes next
NEXT = "NEXT"


@click.group()
def sheet() -> None:
    """Begin a machine's sheet, check it, print the bench form, type readings in.

    SHEET is a TOML file, or heron, petrel or template for the sheets that come with the program.
    """


@sheet.command()
@click.argument("out", metavar="FILE", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--from", "begin_from", type=click.Choice(TO_BEGIN_FROM), default="template", help="What to begin from.")
def new(out: Path, begin_from: str) -> None:
    """Begin a sheet of your own from the template, or from another of the files that come with the program.

    `--from table` gives a table for a spreadsheet (FILE.csv) that explains its columns, `--from trials` an example of a
    trials file for `tapewright trim`. A file that is there is left alone.
    """
    if (begin_from == "table") != (out.suffix.lower() == ".csv"):
        raise WrongUseError(f"{out}: expected a name in .csv for --from table, and for nothing else.")
    if out.exists():
        raise WrongUseError(f"{out} is there already; it is left as it is. Give another name.")
    write_whole(out, built_in_bytes(begin_from))
    click.echo(f"{out}: begun from {begin_from}. Open it in any text editor.")


@sheet.command()
@click.argument("sheet_name", metavar="SHEET")
@click.option("--readings", metavar="FILE", help="Journal of readings and changes, TOML or CSV.")
@click_options(SheetSettings)
@click.option("--only", multiple=True, metavar="NEXT|ID", help="Show only what comes next, or only this requirement.")
@click.option("--compact", is_flag=True, help="With --json: on one line, without blanks.")
@keep_options
@json_option
def check(
    sheet_name: str,
    readings: str | None,
    settings: SheetSettings,
    only: tuple[str, ...],
    compact: bool,
    keep: Keeping | None,
    as_json: bool,
) -> int:
    """Judge every requirement; say what comes next, why, and what must be measured again.

    SHEET may be a table too (CSV); `tapewright sheet new my.csv --from table` explains its columns. The exit code is
    that of the whole sheet, and the book keeps the whole, whatever --only shows.
    """
    files = files_given(sheet=Path(sheet_name), readings=Path(readings) if readings else None)
    result = measure(files, settings)
    shown = _only(result, only) if only else result
    click.echo(encode_json(sheet_document(shown), compact=compact) if as_json else sheet_text(shown))
    keep_result(keep, lambda: document(result), files, "sheet check", to_steps(settings), quiet=as_json)
    code = exit_code(c.verdict for c in result.checked if c.verdict is not None)
    return NOT_SHOWN if code == DONE and any(c.verdict is None for c in result.checked) else code


def _only(result: SheetCheck, only: tuple[str, ...]) -> SheetCheck:
    """Return what was asked for of a checked sheet."""
    for id_ in only:
        if id_ != NEXT and id_ not in result.order.ids:
            near = difflib.get_close_matches(id_, result.order.ids, n=1)
            perhaps = f" Perhaps {near[0]} is meant." if near else ""
            raise WrongUseError(f"--only {id_}: expected {NEXT} or an id of the sheet.{perhaps}")
    following = result.next.id if result.next else ""
    return narrowed(result, frozenset(following if id_ == NEXT else id_ for id_ in only))


@sheet.command()
@click.argument("sheet_name", metavar="SHEET")
@click.option(
    "-o", "--out", required=True, type=click.Path(dir_okay=False, path_type=Path), help="FILE.pdf or FILE.html."
)
@click_options(SheetSettings)
def form(sheet_name: str, out: Path, settings: SheetSettings) -> None:
    """Write the bench form: numbered boxes for every reading as found and as left, and for the turn made."""
    the_sheet = sheet_named(sheet_name, settings.variant)
    kind = out.suffix.lower()
    if kind not in (".pdf", ".html"):
        raise WrongUseError(f"{out}: expected a name that ends in .pdf or .html; found {kind or 'no ending'}.")
    write_whole(out, form_pdf(the_sheet) if kind == ".pdf" else form_html(the_sheet).encode())
    boxes = boxes_of(the_sheet)
    stations = len({b.requirement.station for b in boxes})
    click.echo(f"{out}: {len(boxes)} boxes at {stations} stations.")


@sheet.command()
@click.argument("sheet_name", metavar="[SHEET]", default="")
@click.option("-o", "--out", type=click.Path(dir_okay=False, path_type=Path), help="Journal to add to, TOML.")
@click.option("--station", default="", help="Only this station's page.")
@click_options(SheetSettings)
@click.option("--warm/--cold", default=None, help="Measured warm or cold.")
@click.option("--powered/--by-hand", default=None, help="Measured under power or turned by hand.")
@click.option("--locked/--not-locked", default=None, help="Measured after or before locking.")
@keep_options
def enter(
    sheet_name: str,
    out: Path | None,
    station: str,
    settings: SheetSettings,
    keep: Keeping | None,
    **state: bool | None,
) -> None:
    """Type readings in from the form: numbers only, Enter to the next box.

    0.24 is a number, 0.20 0.22 a gauge that goes and one that does not, >0.22 or <0.18 one gauge alone, 0.10+0.15 a
    stack of leaves, y or n by eye. Enter alone leaves a box empty, u undoes, q stops. Lines may come from a pipe.

    With --machine they go into the book, as those typed on the bench's gauges page do, and SHEET may be left out.
    With -o they go into a journal of your own. With both, into both.
    """
    if keep is None and (out is None or not sheet_name):
        raise WrongUseError("Say --machine NAME to type into the book, or SHEET and -o FILE for a journal of your own.")
    if keep is None:
        _into_journal(out, _ask(sheet_named(sheet_name, settings.variant), station, state, out))
        return
    given = Path(sheet_name) if sheet_name else None
    done = record().enter_in_book(
        keep, given, settings.variant, lambda the_sheet: _into_journal(out, _ask(the_sheet, station, state, out))
    )
    if done is None:
        click.echo("\nNothing was typed; the book is as it was.")
    else:
        name, line = done
        click.echo(f"\nIn the book of {name}: {line.key[:12]}, line {line.number}.")


def _ask(the_sheet: Sheet, station: str, state: Mapping[str, bool | None], out: Path | None) -> Journal:
    """Ask for every box of a sheet, or of one of its stations; give what was typed."""
    boxes = [b for b in boxes_of(the_sheet) if station in ("", b.requirement.station)]
    if not boxes:
        known = ", ".join(dict.fromkeys(r.station for r in the_sheet.requirements))
        raise WrongUseError(f"--station {station}: expected one of {known}.")
    questions = tuple(
        Question(b.requirement.id, b.position, b.eye_will_do, not b.yes_or_no, is_length(b.requirement.unit))
        for b in boxes
    )
    by_id = {r.id: r for r in the_sheet.requirements}
    if out is not None and out.exists():
        read_journal(
            str(out), out.read_bytes(), the_sheet
        )  # a journal that cannot be added to is refused before typing
    typed = type_readings_in(by_id, questions, sys.stdin, partial(_tell, boxes))
    warm, powered, locked = (state[key] for key in ("warm", "powered", "locked"))
    return tuple(replace(e, warm=warm, powered=powered, locked=locked) for e in typed)


def _into_journal(out: Path | None, entries: Journal) -> Journal:
    """Add to a journal on disk, if there is one to add to; give the entries on."""
    if out is not None:
        try:
            append_journal(out, entries)
        except OSError:
            # an hour at the machine must not be lost to a full disk
            click.echo(f"\n{out} could not be written. What was typed, to be kept by hand:\n\n{journal_toml(entries)}")
            raise
        click.echo(f"\n{out}: {len(entries)} readings added.")
    return entries


def _tell(boxes: list[Box], typing: TypingIn, said: Said | None, verdict: Verdict | None) -> None:
    """Say what became of the line, and ask for the next box."""
    if said is Said.TAKEN and verdict is not None:
        click.echo(f"   {verdict.state.value}")
        if (times := out_of_proportion(verdict)) is not None:
            click.echo(f"   But it is {times:.0f} times the limit: the right box, the right unit? u undoes.")
    elif said is Said.NOT_UNDERSTOOD:
        eye = "y or n" if typing.current and typing.current.takes_eye else ""
        number = (
            "a number, two numbers (goes, does not go), >0.2 or <0.2"
            if typing.current and typing.current.takes_number
            else ""
        )
        click.echo(f"   Not understood: this box takes {' or '.join(w for w in (number, eye) if w)}.")
    elif said in (Said.UNDONE, Said.NOTHING_TO_UNDO):
        click.echo(f"   {said.value}")
    if typing.current is not None:
        box = boxes[len(typing.answers)]
        place = f", {box.position}" if box.position else ""
        unit = "y/n" if box.yes_or_no else box.requirement.unit
        click.echo(f"{box.number:>3}. {box.requirement.what}{place} [{unit}]: ", nl=False)


@click.command()
@click.argument("trials", metavar="[TRIALS]", default="")
@click.option("--sheet", metavar="SHEET", help="Sheet that readings with a `requirement` take their limits from; with "
              "--machine, else the one in the book.")  # fmt: skip
@click_options(SheetSettings)
@keep_options
@json_option
def trim(trials: str, sheet: str | None, settings: SheetSettings, keep: Keeping | None, as_json: bool) -> int:
    """Recommend one move from the trials in TRIALS (TOML or CSV), predict every reading, say how sure.

    With --machine and no TRIALS, from the newest trials of that machine in the book; nothing is written then.

    Exit code 0 when every reading is shown within, 1 when one is outside, 3 when one is not shown.
    """
    if not trials and keep is None:
        raise WrongUseError("trim: give a file of TRIALS, or --machine NAME for the newest trials in the book.")
    given = files_given(trials=Path(trials) if trials else None, sheet=Path(sheet) if sheet else None)
    with TemporaryDirectory(prefix="tapewright-") as folder:
        files, settings = _from_book(keep, given, settings, Path(folder), quiet=as_json)
        advice = measure_trim(files, settings)
        click.echo(encode_json(advice) if as_json else trim_text(advice))
        if trials:
            keep_result(keep, lambda: trim_document(advice), files, "trim", to_steps(settings), quiet=as_json)
    return exit_code(advice.now)


def _from_book(
    keep: Keeping | None, given: dict[str, Path], settings: SheetSettings, folder: Path, *, quiet: bool
) -> tuple[dict[str, Path], SheetSettings]:
    """Take from the machine's record what was not given, and say so; give the files and what is set for them."""
    if keep is None:
        return given, settings
    files, taken = record().fetch_for_trim(keep.book, keep.machine, given, folder)
    for role, held in taken.items():
        click.echo(f"{role} from the book: {held.name}, line {held.line.number}.\n", err=quiet)
    variant = settings.variant or (taken["sheet"].variant if "sheet" in taken else "")
    return files, SheetSettings(variant=variant if "sheet" in files else "")
