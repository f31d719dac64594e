r"""A receiver with an orientation: what it prints of a line. The practice machine's other half.

Picture (start transition at S; the selector looks for a time w around the middle of each element, later by x):

            S    el 1      el 2            el 5     stop
    line ~~~|____|~~~~~~~~~|________ ... __|~~~~|~~~~~~~~~
                   [w]       [w]             [w]
                  S + (1 + 1/2 + x) T ...  S + (5 + 1/2 + x) T;   ready again after 6 1/2 T

While the line changes within the look, the element comes out by chance. Its shaft runs at its own unit T, which need
not be the sender's.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.practice.line_signal import FloatArray, LineSignal

ELEMENTS = 5
READY_UNITS = 6.5


@dataclass(frozen=True, slots=True)
class PracticeReceiver:
    """A receiving machine.

    Attributes:
        unit_s: its own unit.
        window: width of its look, as a share of the unit.
        orientation: how much later than the middle it looks, units.
        scatter: standard deviation of each look's place, units.
    """

    unit_s: float
    window: float = 0.2
    orientation: float = 0.0
    scatter: float = 0.0


def print_codes(line: LineSignal, receiver: PracticeReceiver, generator: np.random.Generator) -> list[str]:
    """Return the codes the receiver selects, one for each start it sees."""
    codes, ready = [], line.begin_s
    for at in line.times_s[~line.mark_after].tolist():
        if at < ready:
            continue
        looks = 1.5 + np.arange(ELEMENTS) + receiver.orientation
        looks = looks + receiver.scatter * generator.standard_normal(ELEMENTS)
        codes.append(_select(line, at + looks * receiver.unit_s, receiver.window * receiver.unit_s / 2, generator))
        ready = at + READY_UNITS * receiver.unit_s
    return codes


def _select(line: LineSignal, looks_s: FloatArray, half_s: float, generator: np.random.Generator) -> str:
    before, after = (np.searchsorted(line.times_s, looks_s + side, side="right") for side in (-half_s, half_s))
    states = np.append(line.starts_mark, line.mark_after)
    chance = generator.integers(0, 2, looks_s.size).astype(bool)
    mark = np.where(before == after, states[after], chance)
    return "".join("1" if m else "0" for m in mark)
