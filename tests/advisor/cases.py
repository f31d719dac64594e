"""Simulated cases: a practice machine with known faults, and the part of the evidence somebody came round to gather.

Complaint: most of what is heard, or shows in print, on tape or as wrong characters without taking anything off. Then
tests and questions in a random order, none that takes a unit off: six in ten of them, and more only while fewer than
three things were found that are not usual on any old machine (with less in hand one looks further, before asking). A
third of the machines come with a line, tape, gauge or coil document in place of somebody's eye. Answers slip as
`simulate/faulty_machine` says.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.advisor.evidence import Evidence, cannot_say, no, yes
from tapewright.advisor.measured import answers_from_all
from tapewright.practice.faulty_machine import coil_paper, deal_random, line_paper, sheet_paper, tape_paper
from tapewright.practice.faulty_machine.looks import ANYWAY

MAKE = {"yes": yes, "no": no, "can't say": cannot_say}
COMPLAINT = {"characters", "print", "tape", "ear"}
PAPERS = {"line": line_paper, "tape": tape_paper, "sheet": sheet_paper, "coil": coil_paper}
SHARE_DONE = 0.6
ENOUGH_FOUND = 3


@dataclass
class Case:
    faults: tuple[str, ...]
    evidence: Evidence
    machine: object


def make_case(model, count, rng, share=SHARE_DONE):
    """Return a case with `count` faults of the model."""
    machine = deal_random(model.causes, count, rng)
    answers = gather(model, machine, rng, share, at_least=ENOUGH_FOUND * count)
    return Case(machine.faults, Evidence(tuple(answers), frozenset(model.gates)), machine)


def gather(model, machine, rng, share, at_least):
    documents = {kind: make(machine) for kind, make in PAPERS.items() if rng.random() < share / 2}
    answers = answers_from_all([d for d in documents.values() if d is not None], model)
    known = {answer.finding for answer in answers}
    for finding in model.findings.values():
        if finding.name not in known and complained_of(model, finding, machine) and rng.random() < 0.8:
            answers.append(look(model, machine, finding))
    tests = [test for test in model.tests.values() if test.depth in ("none", "covers")]
    for number, place in enumerate(rng.permutation(len(tests))):
        telling = sum(answer.state == "present" and answer.finding not in ANYWAY for answer in answers)
        if number >= share * len(tests) and telling >= at_least:
            break
        known = {answer.finding for answer in answers}
        new = [name for name in model.shown_by(tests[place].name) if name not in known and name in shown(model)]
        answers += [look(model, machine, model.findings[name]) for name in new]
    return answers


def complained_of(model, finding, machine):
    if machine.levels.get(finding.name, 0) <= 1.0 or finding.name not in shown(model):
        return False
    return finding.by in COMPLAINT and model.tests[finding.test].depth == "none"


def look(model, machine, finding):
    needs_running = model.tests[finding.test].risk in ("power", "loop")
    return MAKE[machine.ask(finding.name, needs_running=needs_running)](finding.name, "asked")


_SHOWN = {}


def shown(model):
    """Findings that some cause of the model shows."""
    if model.name not in _SHOWN:
        _SHOWN[model.name] = {finding for cause in model.causes.values() for finding in cause.shows}
    return _SHOWN[model.name]


def generator(seed):
    return np.random.default_rng(seed)
