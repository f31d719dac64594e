"""A reading out of all proportion to its limits: most likely the wrong box, or the wrong unit."""

from tapewright.core.measurement import Verdict

#: A reading this many times the largest end of its limit is more likely mistyped than true (common practice, no
#: source: a thou taken for a millimetre is 39 times as much, a millimetre for an inch 25).
OUT_OF_PROPORTION = 20.0


def out_of_proportion(verdict: Verdict) -> float | None:
    """Give how many times the largest end of its limit a reading is; None where it is in proportion."""
    ends = [abs(end) for end in (verdict.limit.low, verdict.limit.high) if end]
    if verdict.value is None or not ends:
        return None
    times = abs(verdict.value) / max(ends)
    return times if times >= OUT_OF_PROPORTION else None
