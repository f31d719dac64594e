"""Practise on a machine with a fault nobody tells you: every test and remedy costs minutes; the advisor plays too.

    deal --> complaint --> [ test: minutes, answers ]* --> remedy: minutes, mended or not --> score

You and the advisor meet the same machine: a question asked twice gets the same answer, whoever asks.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from tapewright.advisor.document import Diagnosis
from tapewright.advisor.evidence import Answer, Evidence, cannot_say, no, yes
from tapewright.advisor.machine_model import Model, Test
from tapewright.advisor.next_test import Bounds
from tapewright.advisor.reason import diagnose

MAKE = {"yes": yes, "no": no, "can't say": cannot_say}
#: A machine that comes to the bench has been checked dead and turned by hand.
ON_RECORD = frozenset({"dead electrical check", "turned free by hand"})
#: What shows by itself, without a test: what is printed, punched, or comes as wrong characters; at most so many.
COMPLAINS_BY, NOTICED_BY, MOST_COMPLAINTS = ("characters", "print", "tape", "ear"), ("eye", "finger", "record"), 2
MOST_STEPS = 80


class Dealt(Protocol):
    """A machine with known faults that answers questions."""

    faults: tuple[str, ...]

    def ask(self, finding: str, *, needs_running: bool = False) -> str:
        """Return "yes", "no" or "can't say"."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing done: its name, the minutes it took, what came of it (finding -> answer)."""

    name: str
    minutes: float
    came: tuple[tuple[str, str], ...]


@dataclass(slots=True)
class Round:
    """One round of practice.

    Attributes:
        model: the machine as the advisor knows it.
        machine: the machine as it is.
        answers, on_record, tried, steps: what was learnt and done so far.
        mended: True once a remedy hit a fault.
    """

    model: Model
    machine: Dealt
    answers: list[Answer] = field(default_factory=list)
    on_record: frozenset[str] = ON_RECORD
    tried: frozenset[str] = frozenset()
    steps: list[Step] = field(default_factory=list)
    mended: bool = False

    @property
    def minutes(self) -> float:
        """Minutes spent so far."""
        return sum(step.minutes for step in self.steps)

    def evidence(self) -> Evidence:
        """Return what is known so far."""
        return Evidence(tuple(self.answers), self.on_record, self.tried)

    def open_tests(self) -> list[Test]:
        """Return the tests that show something not looked at yet and whose gates are on record."""
        known = {answer.finding for answer in self.answers}
        ready = [test for test in self.model.tests.values() if set(test.needs) <= self.on_record]
        return [test for test in ready if set(self.model.shown_by(test.name)) - known or self._opens(test)]

    def do_test(self, name: str) -> Step:
        """Do a test: its minutes pass, its findings are answered, its gate is on record."""
        test = self.model.tests[name]
        known = {answer.finding for answer in self.answers}
        came = tuple((f, self._ask(f, test)) for f in self.model.shown_by(name) if f not in known)
        self.answers += [MAKE[answer](finding, f"test {name}") for finding, answer in came]
        if test.opens:
            self.on_record |= {test.opens}
        return self._note(Step(name, test.minutes, came))

    def do_remedy(self, name: str) -> Step:
        """Do a cause's remedy: its minutes pass; it mends the machine or it does not."""
        cause = self.model.causes[name]
        self.mended = name in self.machine.faults
        if not self.mended:
            self.tried |= {name}
        return self._note(Step(name, cause.minutes, (("mended", "yes" if self.mended else "no"),)))

    def _opens(self, test: Test) -> bool:
        return bool(test.opens) and test.opens not in self.on_record

    def _ask(self, finding: str, test: Test) -> str:
        return self.machine.ask(finding, needs_running=test.risk in ("power", "loop"))

    def _note(self, step: Step) -> Step:
        self.steps.append(step)
        return step


def begin(model: Model, machine: Dealt, levels: Mapping[str, float]) -> Round:
    """Begin a round with the complaint: what shows by itself, the plainest first.

    Args:
        model: the machine model.
        machine: the machine dealt.
        levels: how far each finding shows on it by its faults; about 1 = just noticed.
    """
    play = Round(model, machine)
    shown = sorted((f for f in model.findings.values() if levels.get(f.name, 0.0) > 1.0), key=lambda f: -levels[f.name])
    outside = [f for f in shown if f.test in model.tests and model.tests[f.test].depth == "none"]
    plain = [f for f in outside if f.by in COMPLAINS_BY] or [f for f in outside if f.by in NOTICED_BY][:1]
    for finding in (plain or shown[:1])[:MOST_COMPLAINTS]:
        play.answers.append(yes(finding.name, "the complaint"))
    return play


def follow_advice(play: Round, bounds: Bounds | None = None) -> Round:
    """Do what the advisor says until the machine is mended or nothing is left to say."""
    while not play.mended and len(play.steps) < MOST_STEPS:
        found = diagnose(play.model, play.evidence(), bounds)
        if found.stop is not None:
            play.do_remedy(found.stop.cause)
        elif found.next_tests:
            play.do_test(found.next_tests[0].test)
        else:
            best = _best_left(found, play.tried)
            if best is None:
                break
            play.do_remedy(best)
    return play


def fixed_order(play: Round, bounds: Bounds | None = None) -> Round:
    """Do the tests in the order of the file; remedies as the advisor would, once it says enough is known."""
    bounds = bounds or Bounds()
    for test in [test for test in play.model.tests.values() if bounds.allow(test)]:
        if play.mended or len(play.steps) > 4 * MOST_STEPS:
            break
        if test.name in {open_test.name for open_test in play.open_tests()}:
            play.do_test(test.name)
            _remedy_if_sure(play, bounds)
    return play if play.mended else follow_advice(play, bounds)


def _remedy_if_sure(play: Round, bounds: Bounds) -> None:
    while not play.mended:
        stop = diagnose(play.model, play.evidence(), bounds).stop
        if stop is None:
            break
        play.do_remedy(stop.cause)


def _best_left(found: Diagnosis, tried: Iterable[str]) -> str | None:
    return next((b.cause for b in found.causes if b.cause not in set(tried)), None)
