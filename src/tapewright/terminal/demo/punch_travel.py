"""Demo chapter: Petrel's punch travel, two screws that upset each other, set right by trim."""

from pathlib import Path

import click
import numpy as np

from tapewright.gauges.checking import check
from tapewright.gauges.document import Trim
from tapewright.gauges.files.journal_file import journal_toml, read_journal
from tapewright.gauges.files.trials_file import read_trials
from tapewright.gauges.files.trials_writer import trials_toml
from tapewright.gauges.journal import Entry
from tapewright.gauges.measure import sheet_named
from tapewright.gauges.trim.advice import advise
from tapewright.gauges.trim.problem import Knob, Problem, Seen, Target, Trial
from tapewright.gauges.words import percent
from tapewright.practice.adjusters import PETREL_PUNCH_TRAVEL, Adjusters

SCREWS = ("low screw", "high screw")
READINGS = {"low travel": "punch-travel-low", "high travel": "punch-travel-high"}
MOST_TRIALS, SEED = 10, 3


def chapter(folder: Path) -> None:
    """Play the chapter; its files stay in `folder`."""
    click.echo(
        "How low and how high Petrel's pins go is set by two screws, and each upsets the other. The gauge has leaves"
    )
    click.echo(
        "in steps of 0.02 mm, so that a reading is an interval: the last leaf that goes, the first that does not.\n"
    )
    knobs = tuple(Knob(name, "turn", step_limit=0.5, play=0.02) for name in SCREWS)
    limits = {r.id: r.test for r in sheet_named("petrel").requirements}
    targets = tuple(Target(name, "mm", limits[id_].low, limits[id_].high, u=0.006) for name, id_ in READINGS.items())
    hands = Adjusters(PETREL_PUNCH_TRAVEL, np.random.default_rng(SEED))
    trials: list[Trial] = []
    file = folder / "punch-travel.toml"
    for _ in range(MOST_TRIALS):
        seen = tuple(Seen(low=low, high=high) for low, high in hands.look())
        trials.append(Trial(tuple(round(float(s), 4) for s in hands.screws), seen))
        file.write_text(trials_toml(Problem(knobs, targets, tuple(trials))), encoding="utf-8")
        advice = advise(read_trials(file.name, file.read_bytes()))
        _tell(len(trials) - 1, trials[-1], advice)
        if not advice.move:
            break
        hands.turn(np.array([advice.move.get(name, 0.0) for name in SCREWS]))
    _hand_over(folder, trials)


def _tell(number: int, trial: Trial, advice: Trim) -> None:
    read = ", ".join(
        f"{name} {s.low:.2f} to {s.high:.2f} mm" for name, s in zip(READINGS, trial.read, strict=True) if s
    )
    click.echo(f"  {'as found' if number == 0 else f'trial {number}':<9} {read}")
    if advice.move:
        turns = ", ".join(f"{name} {amount:+z.2f} turn" for name, amount in advice.move.items())
        click.echo(f"            {advice.state}: {turns}; sure that both land: {percent(advice.sure)}")
    else:
        click.echo(f"            {advice.state}: {advice.why}")


def _hand_over(folder: Path, trials: list[Trial]) -> None:
    """Write the settled readings into the journal and let the sheet judge them."""
    turned = ", ".join(
        f"{name} {b - a:+z.2f} turn" for name, a, b in zip(SCREWS, trials[0].at, trials[-1].at, strict=True)
    )
    back = ", ".join(f"{name} to {a:g}" for name, a in zip(SCREWS, trials[0].at, strict=True))
    entries = [Entry("punch-travel-low", changed=turned, undo=back)]
    for id_, seen in zip(READINGS.values(), trials[-1].read, strict=True):
        assert seen is not None
        entries.append(Entry(id_, low=seen.low, high=seen.high, locked=True))
    journal = folder / "petrel-readings.toml"
    journal.write_text(journal_toml(tuple(entries)), encoding="utf-8")
    sheet = sheet_named("petrel")
    result = check(sheet, read_journal(journal.name, journal.read_bytes(), sheet))
    click.echo(f"\n  All in all: {turned}. To undo: {back}.")
    for c in result.checked:
        if c.requirement.id in READINGS.values():
            click.echo(f"  {c.requirement.id}: {c.state.value}")
    click.echo(f"  Measure again, since it was changed: {', '.join(result.recheck)}.")
    click.echo("\n  The trials are in punch-travel.toml (`--keep FOLDER` keeps it); try `tapewright trim` on it.")
