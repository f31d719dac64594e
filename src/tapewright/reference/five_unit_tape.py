"""Five-unit paper tape: its dimensions, each with the place it comes from.

Picture (start of the message at the left, face up; the feed line lies between tracks 2 and 3):

      edge  ------------------------------------------   ^            ^
      1      o     o           code hole 1.83            | 7.50       |
      2      o        o                                  v            |  17.46
      feed   .  .  .  .        feed hole 1.17 -------- centre line    |
      3            o  o                                  ^            |
      4         o              rows 2.54 apart           | 9.96       |
      5      o     o           tracks 2.54 apart         v            v
      edge  ------------------------------------------

The nominal sizes were seen on secondary pages; the full text of a national standard for perforated
tape (IEEE/AIEE No. 89) was not. Tolerances are from memory, with low confidence: every verdict made
with them says so, and a sheet of the owner's own limits replaces them (`--limits`).
"""

from tapewright.number import Limit, Source, Standing

GRID_MM = 2.54
CODE_HOLE_MM = 1.83
FEED_HOLE_MM = 1.17
WIDTH_MM = 17.46
FEED_TO_THREE_HOLE_EDGE_MM = 9.96
FEED_TO_TWO_HOLE_EDGE_MM = WIDTH_MM - FEED_TO_THREE_HOLE_EDGE_MM
#: Centre of an advanced feed hole ahead of its code holes: leading edges flush, (1.83 - 1.17) / 2.
ADVANCED_MM = (CODE_HOLE_MM - FEED_HOLE_MM) / 2
WIDTH_TOLERANCE_MM = 0.08

#: Track 1 to 5: place across the tape in grid steps from the feed line, towards the three-hole side.
TRACK_STEPS = (-2, -1, 1, 2, 3)

NOMINAL = Source("secondary pages on five-track tape", "grid and hole sizes", Standing.PUBLISHED_SECONDARY)
TOLERANCE = Source("tape tolerances as remembered", "low confidence", Standing.MEMORY)

PITCH = Limit("feed pitch", GRID_MM - 0.05, GRID_MM + 0.05, "mm", TOLERANCE)
CUMULATIVE = Limit("worst cumulative pitch over 50 rows", -0.25, 0.25, "mm", TOLERANCE)
CODE_DIAMETER = Limit("code hole diameter", CODE_HOLE_MM - 0.05, CODE_HOLE_MM + 0.05, "mm", TOLERANCE)
FEED_DIAMETER = Limit("feed hole diameter", FEED_HOLE_MM - 0.03, FEED_HOLE_MM + 0.05, "mm", TOLERANCE)
SKEW = Limit("row out of square, across the tape", -0.1, 0.1, "mm", TOLERANCE)
WIDTH = Limit("tape width", WIDTH_MM - WIDTH_TOLERANCE_MM, WIDTH_MM + WIDTH_TOLERANCE_MM, "mm", TOLERANCE)
FEED_TO_EDGE = Limit(
    "feed line to the three-hole edge",
    FEED_TO_THREE_HOLE_EDGE_MM - 0.10, FEED_TO_THREE_HOLE_EDGE_MM + 0.10, "mm", TOLERANCE,
)  # fmt: skip
PARTIAL_SHARE = Limit(
    "partial holes", None, 0.0, "percent",
    Source("a clean punch leaves no partial hole", "common practice", Standing.COMMON_PRACTICE),
)  # fmt: skip
