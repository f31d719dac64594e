"""The US commercial variant of the five-unit alphabet: ITA2 with eight other figures.

The figures of D F G H J S V Z differ (two independent tables agree on exactly this set; one US table
prints the figure of H as STOP). The trap: BEL and the apostrophe change places on J and S.
"""

from tapewright.alphabets.alphabet import Alphabet, Function, Sign
from tapewright.alphabets.ita2 import case_of

#: letter -> figure where it differs from ITA2
DIFFERENCES: dict[str, Sign] = {
    "D": "$", "F": "!", "G": "&", "H": "#", "J": "'", "S": Function.BELL, "V": ";", "Z": '"',
}  # fmt: skip

US_COMMERCIAL = Alphabet(
    "US commercial",
    case_of(figures=False),
    case_of(figures=True, changed=DIFFERENCES),
    source="agreement of two general codec tables",
)
