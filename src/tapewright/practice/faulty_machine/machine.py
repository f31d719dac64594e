r"""One practice machine, dealt: which faults, how bad, its own quirks, and what somebody notices of it.

    faults --severity 0.8 to 1.6--> quantities --looks x this machine's quirks--> level of each finding
    level 0 .... 1 .... 2        noticed with chance  1 / (1 + exp(-(level - 1) / 0.15)), then a person's slips

The quirks (lognormal, 25 %) make two machines with the same fault look different; the slips are a false yes in 3 of
1000, a false no in 4 of 100, and "can't say" in 8 of 100. All of these are common practice, no source: nobody counted.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from tapewright.practice.faulty_machine.faults import FAULTS
from tapewright.practice.faulty_machine.looks import ANYWAY, LOOKS, NEEDS_A_RUNNING_MACHINE, SEEN_AT_STANDSTILL

#: A milder fault would not have brought the machine to the bench.
MILDEST, WORST = 0.8, 1.6
QUIRK = 0.25
SOFTNESS = 0.15
FALSE_YES, FALSE_NO, CANNOT_SAY = 0.003, 0.04, 0.08
#: Quantities that a fault can move either way, and the faults that do.
OTHER_WAY = {"speed_low": "speed_high", "bias_short": "bias_long"}
EITHER_WAY = ("governor-set-wrong", "common-contact-off", "loop-relay-biased", "instrument-threshold-off")
#: The other way looks like this.
MIRRORED_LOOKS: dict[str, dict[str, float]] = {
    "speed_high": {"unit-too-short": 1.1, "lateness-grows-through-character": 0.9, "distortion-high": 0.7},
}
#: What shows on a machine that will not run: that it will not, and how.
SHOWS_AT_STANDSTILL = {finding for quantity in SEEN_AT_STANDSTILL for finding in LOOKS[quantity]}


@dataclass(eq=False, slots=True)
class FaultyMachine:
    """A machine with known faults.

    Attributes:
        faults: what is wrong with it: the truth.
        quantities: what its parts are like; 0 = as it should be, about 1 = just bad enough to show.
        levels: how far each finding shows; about 1 = just noticed.
        by_fault: the same, without what is often so on any old machine: what its owner would complain of.
        element: the element that a fault of one element sits in, 1 to 5.
        rng: where its chances come from.
        answers: what was said so far; asked again, the same is said.
    """

    faults: tuple[str, ...]
    quantities: dict[str, float]
    levels: dict[str, float]
    by_fault: dict[str, float]
    element: int
    rng: np.random.Generator
    answers: dict[str, str] = field(default_factory=dict)

    @property
    def running(self) -> bool:
        """Return whether the machine runs at all."""
        return all(self.quantities.get(quantity, 0.0) < 1.0 for quantity in NEEDS_A_RUNNING_MACHINE)

    def ask(self, finding: str, *, needs_running: bool = False) -> str:
        """Return "yes", "no" or "can't say", as somebody at the machine would."""
        if finding not in self.answers:
            self.answers[finding] = self._look(finding, needs_running)
        return self.answers[finding]

    def _look(self, finding: str, needs_running: bool) -> str:
        chances = self.rng.random(3)
        hidden = needs_running and not self.running and finding not in SHOWS_AT_STANDSTILL
        if chances[0] < CANNOT_SAY or hidden:
            return "can't say"
        there = chances[1] < noticed(self.levels.get(finding, 0.0))
        slips = chances[2] < (FALSE_NO if there else FALSE_YES)
        return "yes" if there != slips else "no"


def noticed(level: float) -> float:
    """Chance that a finding of this level is noticed."""
    return 1.0 / (1.0 + math.exp(-min(50.0, max(-50.0, (level - 1.0) / SOFTNESS))))


def deal(faults: Sequence[str], rng: np.random.Generator) -> FaultyMachine:
    """Deal a machine with these faults.

    Args:
        faults: names from `FAULTS`.
        rng: source of severity, quirks and slips.

    Raises:
        KeyError: for a fault the practice machine cannot have.
    """
    quantities: dict[str, float] = {}
    for fault in faults:
        _add(quantities, _turned(fault, rng), rng.uniform(MILDEST, WORST))
    by_fault = _levels(quantities, rng)
    levels = _with_age(by_fault, rng)
    return FaultyMachine(tuple(faults), quantities, levels, by_fault, int(rng.integers(1, 6)), rng)


def deal_random(among: Iterable[str], count: int, rng: np.random.Generator) -> FaultyMachine:
    """Deal a machine with `count` different faults out of those in `among` that the practice machine can have."""
    possible = sorted(set(among) & set(FAULTS))
    chosen = rng.choice(len(possible), size=count, replace=False)
    return deal([possible[n] for n in chosen], rng)


def _turned(fault: str, rng: np.random.Generator) -> dict[str, float]:
    moved = FAULTS[fault]
    if fault in EITHER_WAY and rng.random() < 0.5:
        return {OTHER_WAY.get(quantity, quantity): amount for quantity, amount in moved.items()}
    return moved


def _add(quantities: dict[str, float], moved: Mapping[str, float], severity: float) -> None:
    for quantity, amount in moved.items():
        quantities[quantity] = quantities.get(quantity, 0.0) + amount * severity


def _levels(quantities: Mapping[str, float], rng: np.random.Generator) -> dict[str, float]:
    levels: dict[str, float] = {}
    for quantity, amount in quantities.items():
        for finding, adds in (LOOKS | MIRRORED_LOOKS)[quantity].items():
            quirk = float(rng.lognormal(0.0, QUIRK))
            levels[finding] = levels.get(finding, 0.0) + amount * adds * quirk
    return levels


def _with_age(by_fault: Mapping[str, float], rng: np.random.Generator) -> dict[str, float]:
    """Add what is often so on an old machine whatever is wrong with it."""
    levels = dict(by_fault)
    for finding, chance in ANYWAY.items():
        if rng.random() < chance:
            levels[finding] = max(levels.get(finding, 0.0), 2.0)
    return levels
