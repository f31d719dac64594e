"""Demo chapter: Petrel from the complaint to the part, in the fewest minutes, with the path not taken."""

import contextlib
import io
from pathlib import Path

import click
import numpy as np

from tapewright.advisor.document import Diagnosis, NextTest
from tapewright.advisor.files import read_evidence_file
from tapewright.advisor.measure import find_the_fault
from tapewright.advisor.models import load
from tapewright.advisor.reason import diagnose
from tapewright.course.practise import Round, Step, begin, fixed_order, follow_advice
from tapewright.practice.faulty_machine import deal
from tapewright.terminal.demo.line_signal import TEXT

FAULT, NUMBER = "interposer-reset-late", 4
MACHINE = "keyboard-punch"


def chapter(folder: Path) -> None:
    """Play the chapter: what line and tape say together, then a fault found from a complaint."""
    _from_line_and_tape(folder)
    _from_a_complaint(folder)


def _from_line_and_tape(folder: Path) -> None:
    """The two documents of the chapters before, as evidence."""
    documents = [
        _document(folder / "petrel-line.csv", ["line", "read"], ["--nominal", "45.45"], folder),
        _document(folder / "petrel-tape.png", ["tape", "read"], [], folder),
    ]
    files = [str(document) for document in documents if document is not None]
    if not files:
        return
    click.echo("Line and tape of the chapters before, taken together as evidence:\n")
    found = find_the_fault(files, read=read_evidence_file, load=load, machine=MACHINE).diagnosis
    for belief in found.causes[:3]:
        click.echo(f"  {100 * belief.probability:3.0f} %  {belief.says}: {_low(belief.supports[0])}")
    _say_next(found)


def _document(capture: Path, command: list[str], options: list[str], folder: Path) -> Path | None:
    """Read a file of an earlier chapter with `--json`; None when that chapter left none."""
    from tapewright.terminal.run import run

    if not capture.exists():
        return None
    written = io.StringIO()
    with contextlib.redirect_stdout(written):
        run([*command, str(capture), *options, "--expect", TEXT * 3, "--json"])
    file = folder / f"{capture.stem}.json"
    file.write_text(written.getvalue(), encoding="utf-8")
    return file


def _say_next(found: Diagnosis) -> None:
    stop, tests = found.stop, found.next_tests
    for caution in stop.cautions if stop else tests[0].cautions if tests else ():
        click.echo(f"  ! {caution}")
    if stop:
        click.echo(f"  Do this now: {stop.do} ({stop.minutes:g} min).")
    elif tests:
        click.echo(f"  Next: {tests[0].do} ({tests[0].minutes:g} min)")


def _from_a_complaint(folder: Path) -> None:
    model = load(MACHINE)
    machine = deal([FAULT], np.random.default_rng(NUMBER))
    played = begin(model, machine, machine.by_fault)
    click.echo("\nA year later. Petrel was checked dead and turned by hand. Its owner says:")
    for answer in played.answers:
        click.echo(f"  {model.findings[answer.finding].says}.")
    advised = diagnose(model, played.evidence()).next_tests
    click.echo("\nThe advisor's way:")
    _told(follow_advice(played))
    others = [test for test in advised if test.test not in {step.name for step in played.steps}]
    if others:
        _not_taken(others[0], advised[0])
    fixed = fixed_order(begin(model, machine, machine.by_fault))
    click.echo(f"\nEvery test in the order of the list: {fixed.minutes:g} min, {len(fixed.steps)} steps.")
    file = folder / "petrel-evidence.toml"
    file.write_text(_evidence(played), encoding="utf-8")
    click.echo(f"The evidence: {file}; try `tapewright diagnose --evidence` on it.")


def _told(played: Round) -> None:
    for step in played.steps:
        cause = played.model.causes.get(step.name)
        for caution in cause.cautions if cause else played.model.tests[step.name].cautions:
            click.echo(f"         ! {caution}")
        click.echo(f"  {step.minutes:3g} min  {_what(played, step)}")
        for name, answer in step.came:
            if name in played.model.findings and answer == "yes":
                click.echo(f"           yes: {played.model.findings[name].says}")
    click.echo(f"  {played.minutes:3g} min in all: {'mended' if played.mended else 'not mended'}.")


def _what(played: Round, step: Step) -> str:
    cause = played.model.causes.get(step.name)
    return f"remedy: {cause.do}" if cause else played.model.tests[step.name].do


def _not_taken(other: NextTest, first: NextTest) -> None:
    click.echo(f"\nThe path not taken: {_low(other.do)} ({other.minutes:g} min).")
    rates = other.information_bits / other.minutes, first.information_bits / first.minutes
    click.echo(f"  It tells {rates[0]:.2f} bits a minute, the first step {rates[1]:.2f}.")


def _low(text: str) -> str:
    return text[0].lower() + text[1:]


def _evidence(played: Round) -> str:
    """What was known before the remedy, as an evidence file."""
    lists = {word: [a.finding for a in played.answers if a.state == state]
             for word, state in (("yes", "present"), ("no", "absent"), ("cannot_say", "not examined"))}  # fmt: skip
    lines = [f'machine = "{played.model.name}"', f"done = {sorted(played.on_record)!r}".replace("'", '"')]
    return "\n".join([*lines, *(f"{word} = {names!r}".replace("'", '"') for word, names in lists.items()), ""])
