"""`tapewright diagnose`: from all the evidence to the part at fault, and the next cheapest test."""

from typing import Any

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, write_json
from tapewright.furniture.keeping import book_option


@click.command()
@click.option("--evidence", "files", multiple=True, metavar="FILE",
              help="Evidence file (TOML, JSON) or JSON document of a measuring command; may stand several times.")
@click.option("--machine", default="", metavar="NAME",
              help="A machine of the book, whose evidence is taken; else a machine model, or a TOML file of your own.")
@click.option("--yes", "yes", multiple=True, metavar="WORDS", help="This is so: a finding's id or words for it.")
@click.option("--no", "no", multiple=True, metavar="WORDS", help="This was looked for and is not so.")
@click.option("--cannot-say", multiple=True, metavar="WORDS", help="This was looked at and says nothing.")
@click.option("--done", multiple=True, metavar="GATE", help="On record: 'dead electrical check', 'speed proven', ...")
@click.option("--tried", multiple=True, metavar="CAUSE", help="The remedy of this cause was done in vain.")
@click.option("--sent", default="", metavar="TEXT", help="Characters sent ...")
@click.option("--received", default="", metavar="TEXT", help="... and what came for them.")
@click.option("--risk", type=click.Choice(["none", "hand", "power", "loop"]), default="loop", show_default=True,
              help="Highest risk of the next test.")
@click.option("--depth", type=click.Choice(["none", "covers", "assembly", "strip"]), default="covers",
              show_default=True, help="How deep the next test may dismantle.")
@click.option("--minutes", type=click.FloatRange(min=0.1), default=60.0, show_default=True,
              help="Longest time for the next test.")
@click.option("--list", "list_words", is_flag=False, flag_value="*", default=None, metavar="[WORD]",
              help="List findings whose words fit, with their ids, and stop.")
@click.option("--by", default="", help="With a machine of the book: who looked; answers given here go into it.")
@book_option
@json_option  # fmt: skip
def diagnose(**options: Any) -> int:
    """Say which part is suspected, why, and the next cheapest test.

    \b
    tapewright diagnose --machine Petrel --no "wrong on tape"
    tapewright diagnose --machine page-printer --yes "prints nearly only T" --no "wrong on line"
    tapewright diagnose --evidence petrel.toml --evidence line.json --evidence tape.json
    tapewright diagnose --sent RYRY --received YGYG
    tapewright diagnose --list "bell rings early"

    Exit code 1 when a station is outside, 3 when none is outside and some are not proved, 0 when all are proved.
    """  # noqa: D301 (click reads a real backspace as "do not re-wrap")
    from tapewright.advisor.files import EvidenceFilesOnDisk
    from tapewright.advisor.find_the_fault import find_the_fault
    from tapewright.advisor.json import diagnosis_document
    from tapewright.advisor.models import ModelsInPackage
    from tapewright.advisor.next_test import Bounds
    from tapewright.advisor.text import diagnosis_text

    models = ModelsInPackage()
    if options["list_words"] is not None:
        return _list(models.load(options["machine"]), options["list_words"], options["as_json"])
    bounds = Bounds(options["risk"], options["depth"], options["minutes"])
    report = _from_book(options, models, bounds) or find_the_fault(
        models, EvidenceFilesOnDisk(), options["files"], machine=options["machine"], more=_more(options), bounds=bounds
    )
    if options["as_json"]:
        write_json(diagnosis_document(report))
    else:
        click.echo(diagnosis_text(report))
    states = {station.state for station in report.diagnosis.stations}
    return OUTSIDE if "outside" in states else NOT_SHOWN if states - {"proved"} else DONE


def _from_book(options: dict[str, Any], models: Any, bounds: Any) -> Any:
    """Diagnose from the book when it has this machine, and write the answers given here into it; else None."""
    from tapewright.book.record import book_with

    book = book_with(options["book"], options["machine"]) if options["machine"] else None
    if book is None:
        if options["by"]:
            raise WrongUseError("--by: say with --machine NAME whose record it goes into.")
        return None
    from tapewright.advisor.from_book import diagnose_from_book, observation_document
    from tapewright.book.keep_result import Result, Taken, keep_result

    if options["files"]:
        raise WrongUseError("--evidence and a machine of the book: the book has the evidence; keep new evidence in it "
                            "with --machine at the command that measures.")  # fmt: skip
    more = _more(options)
    report = diagnose_from_book(book, models, options["machine"], more=more, bounds=bounds)
    if more:
        result = Result(observation_document(more), "diagnose", taken=Taken(by=options["by"]))
        keep_result(book, options["machine"], result)
    book.close()
    return report


def _more(options: dict[str, Any]) -> dict[str, Any]:
    """What was said on the command line, in the shape of an evidence file."""
    more = {key: list(options[key]) for key in ("yes", "no", "cannot_say", "done", "tried") if options[key]}
    if bool(options["sent"]) != bool(options["received"]):
        raise click.UsageError("--sent and --received belong together")
    if options["sent"]:
        more["pairs"] = [{"sent": options["sent"], "received": options["received"]}]
    return more


def _list(model: Any, words: str, as_json: bool) -> int:
    from tapewright.advisor.search import find

    names = list(model.findings) if words == "*" else [match.finding for match in find(words, model)[:15]]
    found = [model.findings[name] for name in names]
    if as_json:
        write_json({"format": "tapewright/findings/1", "machine": model.name, "findings": [
            {"finding": f.name, "says": f.says, "ask": f.ask, "seen": f.seen, "by": f.by, "words": list(f.words)}
            for f in found]})  # fmt: skip
        return DONE
    for finding in found:
        click.echo(f"{finding.name:34s} {finding.says}")
    if not found:
        click.echo(f"Nothing comes near {words!r}. `tapewright diagnose --list` shows all.")
    return DONE
