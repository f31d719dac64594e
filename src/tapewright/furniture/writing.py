"""How a figure is written, everywhere the same: value and doubt, limit, verdict; lines of a terminal.

21.98 ± 0.04 ms      -1.00 ± 0.10 %      +0.31 ± 0.02 ms      not known (no run of characters at full speed)

OUTSIDE    speed error: -1.00 ± 0.10 %; limit -0.75 to 0.75 %
ITU-T S.3, 50 baud, local end (from memory, not seen)
not shown  power in the coil: 12 ± 2 W; limit at most 13 W
coil.max_w (owner's choice)
the doubt of the reading reaches over the end of the limit
"""

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from tapewright.number import Limit, Reading, State, Verdict
from tapewright.number.reading import SMALLEST_SHOWN, decimals_for

#: letters in a line of a terminal
WIDTH = 100
#: the answer is a word; the one that wants a screwdriver is in capitals, since a terminal may have no colour
ANSWERS = {State.WITHIN: "within", State.OUTSIDE: "OUTSIDE", State.NOT_SHOWN: "not shown"}
#: units whose written word differs from the unit's name in the data
WRITTEN = {"percent": "%", "unit": "units"}
MM_PER_INCH = 25.4
#: unit in a document -> (factor, unit) on a page in inches
IN_INCHES = {"mm": (1 / MM_PER_INCH, "in")}
INDENT = " " * 13
NOT_KNOWN = "not known"
#: a minus as long as a plus, for print and pages
PROPER_MINUS = "\N{MINUS SIGN}"

Value = Reading | float | int | bool | str | None


@dataclass(frozen=True, slots=True)
class Written:
    """A figure in its parts, for a page that sets the doubt smaller.

    Attributes:
        value: its digits, or "not known".
        doubt: digits of the expanded uncertainty U = 2u; empty when there is none.
        unit: as it is written; may be empty.
        why: why it is not known; may be empty.
    """

    value: str
    doubt: str = ""
    unit: str = ""
    why: str = ""

    def __str__(self) -> str:
        """Write it in one line."""
        doubt = f" ± {self.doubt}" if self.doubt else ""
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.value}{doubt}{unit}" + (f" ({self.why})" if self.why else "")


def write(value: Value, unit: str = "", *, signed: bool = False, units: str = "metric", minus: str = "-") -> str:
    """Return a figure in one line.

    Args:
        value: a reading, a bare number, yes or no, a word; None for what is not known.
        unit: of a bare number; a reading has its own.
        signed: write a plus too, where the sign has a meaning of its own (late +, early -).
        units: "metric", or "inch" for lengths in inches.
        minus: the sign for it.
    """
    return str(in_parts(value, unit, signed=signed, units=units, minus=minus))


def in_parts(value: Value, unit: str = "", *, signed: bool = False, units: str = "metric", minus: str = "-") -> Written:
    """Return a figure in its parts; the arguments are those of `write`."""
    if value is None or (isinstance(value, Reading) and value.value is None):
        return Written(NOT_KNOWN, why=value.how if isinstance(value, Reading) else "")
    if isinstance(value, bool):
        return Written("yes" if value else "no")
    if isinstance(value, str):
        return Written(value)
    reading = value if isinstance(value, Reading) else Reading(float(value), None, unit)
    factor, word = written_unit(reading.unit, units)
    scaled = reading.scaled(factor, word)
    whole = isinstance(value, int) and factor == 1.0
    digits = str(value) if whole else _digits(scaled)
    sign = "+" if signed and not digits.startswith("-") else ""
    return Written(f"{sign}{digits}".replace("-", minus, 1) if digits.startswith("-") else sign + digits,
                   _doubt(scaled), word)  # fmt: skip


def _digits(reading: Reading) -> str:
    number, expanded = reading.value or 0.0, reading.expanded
    if not expanded:
        return f"{number + 0.0:.4g}"
    return f"{number:z.{4 if expanded < SMALLEST_SHOWN else decimals_for(expanded)}f}"


def _doubt(reading: Reading) -> str:
    expanded = reading.expanded
    if not expanded:
        return ""
    return "<0.0001" if expanded < SMALLEST_SHOWN else f"{expanded:.{decimals_for(expanded)}f}"


def written_unit(unit: str, units: str = "metric") -> tuple[float, str]:
    """Return what to multiply by and the unit to write; a share reads better in hundredths."""
    if unit == "1":
        return 100.0, "%"
    factor, word = IN_INCHES.get(unit, (1.0, unit)) if units == "inch" else (1.0, unit)
    return factor, WRITTEN.get(word, word)


def limit_text(limit: Limit, units: str = "metric") -> str:
    """Return the span of a limit: "-0.75 to 0.75 %", "at most 40 %", "at least 1.4 units"."""
    factor, unit = written_unit(limit.unit, units)
    low, high = ("" if end is None else f"{end * factor:.5g}" for end in (limit.low, limit.high))
    if low and high:
        return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"
    return f"at least {low} {unit}" if low else f"at most {high} {unit}"


def judged(verdict: Verdict) -> Reading:
    """Return the reading that a verdict judged."""
    return Reading(verdict.value, verdict.u, verdict.limit.unit)


def verdicts_text(verdicts: Iterable[Verdict]) -> list[str]:
    """Return the lines of several verdicts."""
    return [line for verdict in verdicts for line in verdict_text(verdict)]


def verdict_text(verdict: Verdict) -> list[str]:
    """Return the two lines of a verdict; a third says why, where nothing is shown."""
    limit, source = verdict.limit, verdict.limit.source
    value = "" if verdict.value is None else f"{write(judged(verdict))}; "
    lines = [f"  {ANSWERS[verdict.state]:<11}{limit.check}: {value}limit {limit_text(limit)}",
             f"{INDENT}{source} ({source.standing.value})"]  # fmt: skip
    return [*lines, f"{INDENT}{verdict.why}"] if verdict.state is State.NOT_SHOWN else lines


def wrapped(text: str, first: str = "  ", rest: str | None = None, width: int = WIDTH) -> list[str]:
    """Return a sentence in lines.

    Args:
        text: the sentence; its own ends of line become blanks.
        first: what the first line begins with.
        rest: what the others begin with; two more blanks than the first where it is None.
        width: letters in a line.
    """
    after = " " * (len(first) + 2) if rest is None else rest
    lines = textwrap.wrap(" ".join(text.split()), width, initial_indent=first, subsequent_indent=after,
                          break_on_hyphens=False)  # fmt: skip
    return lines or [first.rstrip()]
