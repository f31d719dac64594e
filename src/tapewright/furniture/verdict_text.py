"""A verdict in words, the same wherever it is written: the answer, what was judged, the limit and whose it is.

OUTSIDE    speed error: -1.00 ± 0.10 %; limit -0.75 to 0.75 %
ITU-T S.3, 50 baud, local end (from memory, not seen)
not shown  power in the coil: 12 ± 2 W; limit at most 13 W
coil.max_w (owner's choice)
the doubt of the reading reaches over the end of the limit
"""

from collections.abc import Iterable

from tapewright.number import Limit, Reading, State, Verdict

#: the answer is a word; the one that wants a screwdriver is in capitals, since a terminal may have no colour
ANSWERS = {State.WITHIN: "within", State.OUTSIDE: "OUTSIDE", State.NOT_SHOWN: "not shown"}
#: units whose written word differs from the unit's name in the data
WRITTEN = {"percent": "%", "unit": "units"}
INDENT = " " * 13


def verdicts_text(verdicts: Iterable[Verdict]) -> list[str]:
    """Return the lines of several verdicts."""
    return [line for verdict in verdicts for line in verdict_text(verdict)]


def verdict_text(verdict: Verdict) -> list[str]:
    """Return the two lines of a verdict; a third says why, where nothing is shown."""
    limit, source = verdict.limit, verdict.limit.source
    value = "" if verdict.value is None else f"{_reading(verdict)}; "
    lines = [f"  {ANSWERS[verdict.state]:<11}{limit.check}: {value}limit {limit_text(limit)}",
             f"{INDENT}{source} ({source.standing.value})"]  # fmt: skip
    return [*lines, f"{INDENT}{verdict.why}"] if verdict.state is State.NOT_SHOWN else lines


def limit_text(limit: Limit) -> str:
    """Return the span of a limit: "-0.75 to 0.75 %", "at most 40 %", "at least 1.4 units"."""
    factor, unit = _scale(limit.unit)
    low, high = ("" if end is None else f"{end * factor:.5g}" for end in (limit.low, limit.high))
    if low and high:
        return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"
    return f"at least {low} {unit}" if low else f"at most {high} {unit}"


def _reading(verdict: Verdict) -> Reading:
    factor, unit = _scale(verdict.limit.unit)
    return Reading(verdict.value, verdict.u, verdict.limit.unit).scaled(factor, unit)


def _scale(unit: str) -> tuple[float, str]:
    """Return what to multiply by and the unit to write; a share reads better in hundredths."""
    return (100.0, "%") if unit == "1" else (1.0, WRITTEN.get(unit, unit))
