"""The practice machine as a whole: faults set in its parts show in line, tape, gauges, coil and to eye, ear, finger.

condition     what the parts are like: one number a quantity, 0 = as it should be, 1 = just bad enough to show
faults        what each fault does to which quantities
looks         what each quantity makes somebody notice, and how strongly
machine       one machine dealt: severities, its own quirks, a nose that is not always right
papers        the result documents its line, tape, gauges and coil would give, as figures with doubt

Nothing here knows how the advisor reasons: no noisy-OR, no strength classes. A fault moves quantities by a random
severity; quantities add up; a finding is noticed when enough of them come together. Facts of the trade: common
practice, no source.
"""

from tapewright.practice.faulty_machine.faults import FAULTS
from tapewright.practice.faulty_machine.machine import FaultyMachine, deal, deal_random
from tapewright.practice.faulty_machine.papers import coil_paper, line_paper, sheet_paper, tape_paper

__all__ = [
    "FAULTS", "FaultyMachine", "coil_paper", "deal", "deal_random", "line_paper", "sheet_paper", "tape_paper",
]
