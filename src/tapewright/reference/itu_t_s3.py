"""ITU-T S.3: start-stop terminals at 50 baud, limits at the local end.

Scope seen in the catalogue; the numbers are from memory, with medium confidence, and marked so.
"""

from tapewright.number import Limit, Source, Standing

SOURCE = Source("ITU-T S.3", "50 baud, local end", Standing.MEMORY)

SPEED_ERROR = Limit("speed error", -0.75, 0.75, "percent", SOURCE)
GROSS_DISTORTION = Limit("gross start-stop distortion", None, 10.0, "percent", SOURCE)
STOP_LENGTH = Limit("stop length", 1.4, None, "unit", SOURCE)
RECEIVER_MARGIN = Limit("receiver margin", 35.0, None, "percent", SOURCE)
