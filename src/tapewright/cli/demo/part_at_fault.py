"""Demo chapter: Petrel from the complaint to the part, in the fewest minutes, with the path not taken."""

from pathlib import Path

import click
import numpy as np

from tapewright.adapters.machine_models import load
from tapewright.app.practise import Round, Step, begin, fixed_order, follow_advice
from tapewright.core.diagnosis.diagnosis import diagnose
from tapewright.core.diagnosis.outcomes import AdvisedTest
from tapewright.core.simulate.faulty_machine import deal

FAULT, NUMBER = "interposer-reset-late", 4


def chapter(folder: Path) -> None:
    """Play the chapter."""
    model = load("keyboard-punch")
    machine = deal([FAULT], np.random.default_rng(NUMBER))
    played = begin(model, machine, machine.by_fault)
    click.echo("Petrel was checked dead and turned by hand. Its owner says:")
    for answer in played.answers:
        click.echo(f"  {model.findings[answer.finding].says}.")
    advised = diagnose(model, played.evidence()).next_tests
    click.echo("\nThe advisor's way:")
    _told(follow_advice(played))
    others = [test for test in advised if test.name not in {step.name for step in played.steps}]
    if others:
        _not_taken(others[0], advised[0])
    fixed = fixed_order(begin(model, machine, machine.by_fault))
    click.echo(f"\nEvery test in the order of the list: {fixed.minutes:g} min, {len(fixed.steps)} steps.")
    file = folder / "petrel-evidence.toml"
    file.write_text(_evidence(played), encoding="utf-8")
    click.echo(f"The evidence is in {file.name}; try `tapewright diagnose --evidence` on it.")


def _told(played: Round) -> None:
    for step in played.steps:
        click.echo(f"  {step.minutes:3g} min  {_what(played, step)}")
        for name, answer in step.came:
            if name in played.model.findings and answer == "yes":
                click.echo(f"           yes: {played.model.findings[name].says}")
    click.echo(f"  {played.minutes:3g} min in all: {'mended' if played.mended else 'not mended'}.")


def _what(played: Round, step: Step) -> str:
    cause = played.model.causes.get(step.name)
    return f"remedy: {cause.do}" if cause else played.model.tests[step.name].do


def _not_taken(other: AdvisedTest, first: AdvisedTest) -> None:
    click.echo(f"\nThe path not taken: {other.do} ({other.minutes:g} min).")
    rates = other.bits / other.minutes, first.bits / first.minutes
    click.echo(f"  It tells {rates[0]:.2f} bits a minute, the first step {rates[1]:.2f}.")


def _evidence(played: Round) -> str:
    """What was known before the remedy, as an evidence file."""
    lists = {word: [a.finding for a in played.answers if a.state == state]
             for word, state in (("yes", "present"), ("no", "absent"), ("cannot_say", "not examined"))}  # fmt: skip
    lines = [f'machine = "{played.model.name}"', f"done = {sorted(played.on_record)!r}".replace("'", '"')]
    return "\n".join([*lines, *(f"{word} = {names!r}".replace("'", '"') for word, names in lists.items()), ""])
