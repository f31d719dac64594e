"""`tapewright practice`: a machine with a fault nobody tells you; your minutes against the advisor's."""

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from tapewright.furniture.command import DONE, OUTSIDE, json_option, write_json

if TYPE_CHECKING:
    from tapewright.course.practise import Round

HELP = """Say one thing a line:
  an id or words for what you want to look at or do     (its minutes pass)
  remedy CAUSE        carry out a remedy                (its minutes pass; mended or not)
  advice              what the advisor would do
  tests WORD          ids that fit a word
  give up             see what it was"""


@click.command()
@click.option("--machine", default="keyboard-punch", show_default=True, metavar="NAME", help="Machine model.")
@click.option("--faults", default=1, show_default=True, type=click.IntRange(1, 3), help="How many faults are dealt.")
@click.option("--seed", type=int, default=None, help="Deal the machine of this number; else any.")
@click.option("--fault", default="", metavar="CAUSE", help="Deal this fault (to teach, or to see how it shows).")
@click.option("--do", "lines", multiple=True, metavar="LINE", help="Say this instead of typing; may be repeated.")
@click.option("--list-faults", is_flag=True, help="List the faults the practice machine can have, and stop.")
@json_option
def practice(
    machine: str, faults: int, seed: int | None, fault: str, lines: tuple[str, ...], list_faults: bool, as_json: bool
) -> int:
    """Find the fault of a practice machine, and see how the advisor does on the same one.

    Exit code 0 when you mended it, 1 when you did not.
    """
    from tapewright.advisor.models import load
    from tapewright.course.deal import deal_practice_machine, practice_faults
    from tapewright.course.practise import begin, follow_advice
    from tapewright.course.report import complaint_text, score_document, score_text

    model = load(machine)
    if list_faults:
        for name in practice_faults(model):
            click.echo(f"{name:32s} {model.causes[name].says}")
        return DONE
    number, dealt = deal_practice_machine(model, seed, faults, fault)
    play, beside = (begin(model, dealt, dealt.by_fault) for _ in range(2))
    quiet = as_json
    if not quiet:
        click.echo(complaint_text(play, number))
        click.echo(HELP + "\n")
    for line in _lines(lines):
        said = _do(play, line)
        if said is None:
            break
        if not quiet:
            click.echo(said)
        if play.mended:
            break
    follow_advice(beside)
    if quiet:
        write_json(score_document(play, beside, number))
    else:
        click.echo(score_text(play, beside))
    return DONE if play.mended else OUTSIDE


def _lines(given: tuple[str, ...]) -> Iterator[str]:
    """Return the lines of `--do`, or those typed (or piped in) until the end."""
    if given:
        yield from given
        return
    while True:
        if sys.stdin.isatty():
            click.echo("> ", nl=False)
        line = sys.stdin.readline()
        if not line:
            return
        yield line.strip()


def _do(play: "Round", line: str) -> str | None:
    """Do what one line says; give what came of it, None when the learner gives up."""
    from tapewright.course.report import advice_text, step_text, tests_text

    words = line.strip()
    if words.lower() in ("give up", "quit", "end"):
        return None
    if not words:
        return ""
    if words.lower() == "advice":
        return advice_text(play)
    if words.lower().startswith("tests"):
        return tests_text(play, words[5:].strip())
    if words.lower().startswith("remedy "):
        name = words[7:].strip()
        if name not in play.model.causes:
            return f"No cause {name!r}. `tapewright practice --list-faults` lists them."
        return step_text(play, play.do_remedy(name))
    return _look(play, words)


def _look(play: "Round", words: str) -> str:
    from tapewright.advisor.reason import diagnose
    from tapewright.advisor.search import find, surely
    from tapewright.course.report import step_text, told_text

    name = words
    if name not in play.model.tests:
        match = surely(find(words, play.model))
        if match is None:
            return f"Not clear what {words!r} means; `tests WORD` gives ids."
        name = play.model.findings[match.finding].test
    missing = [gate for gate in play.model.tests[name].needs if gate not in play.on_record]
    if missing:
        return f"Not before this is on record: {', '.join(missing)}."
    before = diagnose(play.model, play.evidence())
    step = play.do_test(name)
    told = told_text(before, diagnose(play.model, play.evidence()))
    return step_text(play, step) + (f"\n{told}" if told else "")
