"""Army subcourse SS0031: total distortion must never exceed 40 per cent; over it misprints are sure (p. 20, seen)."""

from tapewright.number import Limit, Source, Standing

SOURCE = Source("Army subcourse SS0031", "p. 20", Standing.PUBLISHED)

TOTAL_DISTORTION = Limit("total distortion", None, 40.0, "percent", SOURCE)
