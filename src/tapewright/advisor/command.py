"""`tapewright diagnose`: from all the evidence to the part at fault, and the next cheapest test."""

from typing import TYPE_CHECKING

import click

from tapewright.advisor.settings import AdviceSettings
from tapewright.errors import WrongUseError
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, write_json
from tapewright.furniture.keeping import book_option
from tapewright.furniture.options import click_options

if TYPE_CHECKING:
    from tapewright.advisor.machine_model import Model
    from tapewright.advisor.measure import FaultReport


@click.command()
@click_options(AdviceSettings)
@click.option(
    "--list",
    "list_words",
    is_flag=False,
    flag_value="*",
    default=None,
    metavar="[WORD]",
    help="List findings whose words fit, with their ids, and stop.",
)
@click.option("--by", default="", help="With a machine of the book: who looked; answers given here go into it.")
@book_option
@json_option
def diagnose(settings: AdviceSettings, list_words: str | None, by: str, book: str | None, as_json: bool) -> int:
    """Say which part is suspected, why, and the next cheapest test.

    \b
    tapewright diagnose --machine Petrel --no "wrong on tape"
    tapewright diagnose --machine page-printer --yes "prints nearly only T" --no "wrong on line"
    tapewright diagnose --evidence petrel.toml --evidence line.json --evidence tape.json
    tapewright diagnose --sent RYRY --received YGYG
    tapewright diagnose --list "bell rings early"

    Exit code 1 when a station is outside or there is danger, 3 when none is and some are not proved, 0 when all are
    proved.
    """  # noqa: D301 (click reads a real backspace as "do not re-wrap")
    from tapewright.advisor import models
    from tapewright.advisor.files import read_evidence_file
    from tapewright.advisor.measure import find_the_fault
    from tapewright.advisor.words import diagnosis_text
    from tapewright.furniture.document import encode_json

    if list_words is not None:
        return _list(models.load(settings.machine), list_words, as_json)
    report = _from_book(settings, book, by) or find_the_fault(
        settings.evidence,
        read=read_evidence_file,
        load=models.load,
        machine=settings.machine,
        more=settings.table,
        bounds=settings.bounds,
    )
    click.echo(encode_json(report.diagnosis) if as_json else diagnosis_text(report.diagnosis))
    states = {station.state for station in report.diagnosis.stations}
    return OUTSIDE if "outside" in states or report.diagnosis.danger else NOT_SHOWN if states - {"proved"} else DONE


def _from_book(settings: AdviceSettings, where: str | None, by: str) -> "FaultReport | None":
    """Diagnose from the book when it has this machine, and write the answers given here into it; else None."""
    from tapewright.book.record import book_with

    book = book_with(where, settings.machine) if settings.machine else None
    if book is None:
        if by:
            raise WrongUseError("--by: say with --machine NAME whose record it goes into.")
        return None
    from tapewright.advisor.from_book import diagnose_from_book, observation_document
    from tapewright.book.keep_result import Result, Taken, keep_result

    if settings.evidence:
        raise WrongUseError(
            "--evidence and a machine of the book: the book has the evidence; keep new evidence in it "
            "with --machine at the command that measures."
        )
    more = settings.table
    report = diagnose_from_book(book, settings.machine, more=more, bounds=settings.bounds)
    if more:
        keep_result(book, settings.machine, Result(observation_document(more), "diagnose", taken=Taken(by=by)))
    book.close()
    return report


def _list(model: "Model", words: str, as_json: bool) -> int:
    from tapewright.advisor.search import MOST_CHOICES, find

    names = list(model.findings) if words == "*" else [match.finding for match in find(words, model)[:MOST_CHOICES]]
    found = [model.findings[name] for name in names]
    if as_json:
        keys = ("says", "ask", "seen", "by")
        rows = [{"finding": f.name, **{key: getattr(f, key) for key in keys}, "words": list(f.words)} for f in found]
        write_json({"format": "tapewright/findings/1", "machine": model.name, "findings": rows})
        return DONE
    for finding in found:
        click.echo(f"{finding.name:34s} {finding.says}")
    if not found:
        click.echo(f"Nothing comes near {words!r}. `tapewright diagnose --list` shows all.")
    return DONE
