"""The punches of the two machines of the harbour museum at Skerry Point, as the practice machine plays them.

Both are invented, and so are their faults. *Heron* cuts clean. *Petrel* has a weak pin 1, which leaves a flap, more
often when four or five pins have to go through at once, and one bad tooth on the ratchet of the feed.
"""

from tapewright.practice.punch import FeedDrive, Pin, Punch

HERON_PUNCH = Punch(feed=FeedDrive(scatter_mm=0.006))

PETREL_PUNCH = Punch(
    pins=(Pin(flaps=0.15, flaps_loaded=0.75), Pin(), Pin(), Pin(), Pin()),
    feed=FeedDrive(pitch_mm=2.538, scatter_mm=0.010, tooth_rows=14, tooth_mm=-0.16),
)

PUNCHES: dict[str, Punch] = {"heron": HERON_PUNCH, "petrel": PETREL_PUNCH}
