r"""Is it five-unit tape? Holes where five tracks have none tell another tape.

Picture (grid steps across from the feed line, the three-hole side above):

    step    3  o        o o    five tracks: 3 to -2, and the paper ends just short of -3
            2     o   o
            1  o    o   o
            0  . . . . . .     feed
           -1  o  o     o
           -2     o   o
           -3  o     o         six tracks end here
           -4     o    o       seven
           -5  o    o          eight: ECMA-10 and ISO 1154, 25.4 mm wide, three tracks, feed, five tracks

A hole counts only with paper all round it, so that the edge of the tape, ground, or another strip cannot be one. That
six and seven tracks stand 3 + 3 and 3 + 4 about the feed is common practice, no source.
"""

import numpy as np

from tapewright.pictures.picture import BoolArray, Levels
from tapewright.tape.grid import STEPS, Grid
from tapewright.tape.windows import BEYOND_RIM, CORE, RING, WITHIN_RIM, cut_windows

FURTHER = (-5, -4, -3, 3, 4, 5)
#: Share of the way from paper to hole up to which a level is paper, and from which on it is a hole.
PAPER, HOLE = 0.3, 0.7
#: Share of the samples round a hole, and inside it, that must be so.
NEARLY_ALL = 0.85
#: Rows, and their share, that must have a hole at a step before there is a track there.
FEWEST, LEAST_SHARE = 4, 0.08
LEAST_CONTRAST = 8.0
WORDS = {6: "six", 7: "seven", 8: "eight"}


def other_tape(levels: Levels, strip: Grid) -> str:
    """Return what tape it is when its holes are not those of five tracks; empty when they are."""
    tracks = [step for step, there in zip(FURTHER, tracks_at(levels, strip), strict=True) if there]
    up, down = max((s for s in tracks if s > 0), default=0), -min((s for s in tracks if s < 0), default=0)
    if max(up, down) <= 3 and min(up, down) < 3:
        return ""
    count = max(up, 3) + max(down, 3)
    if min(up, down) > 3 or count not in WORDS:
        return "rows of holes with more tracks than any tape has: a board, or a drawing of dots"
    return f"tape of {WORDS[count]} tracks"


def tracks_at(levels: Levels, strip: Grid) -> BoolArray:
    """Return for each of the steps FURTHER whether a track of holes stands there, shape (6,)."""
    usual = cut_windows(levels, strip).grey
    near = [STEPS.index(step) for step in (-2, -1, 1, 2)]
    paper = float(np.median(usual[:, near][..., RING]))
    hole = float(np.median(usual[:, STEPS.index(0)][..., CORE]))
    if abs(hole - paper) < LEAST_CONTRAST:
        return np.zeros(len(FURTHER), bool)
    windows = cut_windows(levels, strip, FURTHER)
    share = (windows.grey.astype(np.float32) - paper) / (hole - paper)
    around = (share[..., BEYOND_RIM] < PAPER).mean(axis=-1) >= NEARLY_ALL
    within = (share[..., WITHIN_RIM] > HOLE).mean(axis=-1) >= NEARLY_ALL
    rows = (around & within & windows.inside).sum(axis=0)
    return np.asarray((rows >= FEWEST) & (rows >= LEAST_SHARE * strip.rows))
