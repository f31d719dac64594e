"""Recommend the next move of the knobs from the trials so far."""

from typing import Protocol

from tapewright.core.mechanism.trim.advice import Advice, advise
from tapewright.core.mechanism.trim.problem import Problem


class TrialFiles(Protocol):
    """Where trials come from."""

    def trials(self, name: str) -> Problem:
        """Read the trials file of that name."""
        ...


def trim_machine(files: TrialFiles, name: str) -> Advice:
    """Read the trials; give the advice."""
    return advise(files.trials(name))
