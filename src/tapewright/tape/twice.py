r"""Rows that may have been punched twice: the tape hardly moved between two strokes, and two codes stand on one row.

    o   o   (__)   o   o        the feed hole is cut twice as well, a little apart, so it is longer than its neighbours
    O       (__)       O

A tape that did not move at all leaves two codes on one row and no trace: only the text sent, or the line beside the
tape, shows that. A tooth that tears one feed hole leaves the same trace, so it is a suspicion, not a finding.
"""

import numpy as np

from tapewright.pictures.picture import BoolArray
from tapewright.tape.posed import Posed

#: A feed hole is longer than the others from here on: this share of a step (0.05 mm), and this many robust standard
#: deviations of all of them (owner's choice).
LONGER_STEPS, SIGMAS = 0.02, 8.0


def longer_feed_holes(posed: Posed) -> BoolArray:
    """Say in which rows the feed hole is longer than the others, shape (n,); dirty ones do not count."""
    usable = posed.feed_clean & np.isfinite(posed.feed_oval)
    if usable.sum() < 2:
        return np.zeros(posed.rows, bool)
    middle = float(np.median(posed.feed_oval[usable]))
    off = posed.feed_oval - middle
    spread = 1.4826 * float(np.median(np.abs(off[usable])))
    return np.asarray(usable & (off > max(LONGER_STEPS, SIGMAS * spread)), np.bool_)
