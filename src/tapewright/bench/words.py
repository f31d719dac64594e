"""From the numbers, times and options of a document to what stands on the page: the templates' filters.

The measuring names an option of its command ("give it with --expect"); on the page there is a field for each of them.
"""

import math
import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from tapewright.number.reading import COVERAGE_FACTOR, SMALLEST_SHOWN, decimals_for

#: option of a measuring command -> label of the field under "Add evidence" that sets the same
FIELDS = {
    "--expect": "Text that was sent or punched",
    "--phase": "Taken",
    "--nominal": "Speed it should have, baud",
    "--dpi": "Resolution of the scan, dots per inch",
    "--rate": "Samples per second, where the file does not tell",
    "--channel": "Channel, by name or number",
    "--idle": "Level of the line at rest",
    "--threshold": "Threshold, or low and high, volt",
    "--clock-ppm": "The recorder's clock is right within, parts in a million",
    "--window": "Width of a receiver's look, as a share of the unit (0 to 0.99)",
    "--elements": "Elements of a character (5 to 8)",
    "--unshift-on-space": "Goes back to letters on a space",
    "--limits": "Your own limits (TOML), in place of those that come with the program",
    "--shunt": "Shunt, ohm (a coil's current)",
    "--supply": "Supply, volt (a coil's current)",
    "--series-ohm": "Other resistance in the loop, ohm (a coil's current)",
}
_OPTION = re.compile(r"--[a-z][a-z-]*")


def in_fields(text: str) -> str:
    """Put the label of the field in the place of each option: "give it with “Text that was sent or punched”"."""
    return _OPTION.sub(lambda found: f"“{FIELDS[found[0]]}”" if found[0] in FIELDS else found[0], text)


MM_PER_INCH = 25.4
#: unit in a document -> (factor, unit on a page in inches)
IN_INCHES = {"mm": (1 / MM_PER_INCH, "in")}
#: what a machine is to the advisor -> words
KINDS = {
    "keyboard-punch": "keyboard and tape punch",
    "page-printer": "page printer",
    "tape-reader": "tape reader",
    "whole": "all of these on one line",
}
#: what stands for a unit on the page
SHORT = {"percent": "%"}
#: sorts of evidence that have a page of their own
WITH_A_PAGE = frozenset({"line", "tape", "coil"})
#: words of the two families of states -> shape of the plate
SHAPES = {
    "proved": "proved",
    "within": "proved",
    "suspect": "suspect",
    "outside": "outside",
    "not yet shown": "not-shown",
    "not shown": "not-shown",
}


def value(measured: Mapping[str, Any], units: str = "metric") -> str:
    """Write a measured value with its unit, to the digits its doubt allows: "21.98 ms"."""
    factor, unit = _on_page(measured.get("unit") or "", units)
    number = float(measured["value"]) * factor
    return f"{_digits(number, _expanded(measured, factor))} {unit}".strip()


def abs_value(measured: Mapping[str, Any], units: str = "metric") -> str:
    """Write the size of a measured value; a word beside it says late or early, left or right."""
    return value(measured | {"value": abs(float(measured["value"]))}, units)  # type: ignore[operator]


def doubt(measured: Mapping[str, Any], units: str = "metric") -> str:
    """Write the expanded uncertainty of a measured value, to the same digits: "0.04"."""
    factor, _ = _on_page(measured.get("unit") or "", units)
    expanded = _expanded(measured, factor)
    if expanded is None:
        return "not known"
    if 0 < expanded < SMALLEST_SHOWN:
        return "<0.0001"
    return f"{expanded:.{decimals_for(expanded) if expanded else 0}f}"


def length(number: float | None, unit: str, units: str = "metric") -> str:
    """Write an end of a limit, or any plain number with a unit."""
    if number is None:
        return "none"
    factor, shown = _on_page(unit, units)
    return f"{number * factor:.4g} {shown}".strip()


def limits(v: Mapping[str, Any], units: str = "metric") -> str:
    """Write a limit in words: "0.20 mm to 0.28 mm", "at most 0.1 mm"."""
    low, high, unit = v.get("low"), v.get("high"), str(v.get("unit") or "")
    if low is None and high is None:
        return "no limit"
    if low is None:
        return f"at most {length(high, unit, units)}"
    if high is None:
        return f"at least {length(low, unit, units)}"
    return f"{length(low, unit, units)} to {length(high, unit, units)}"


def shape(state: str) -> str:
    """Return the shape of the plate for a state."""
    return SHAPES.get(state, "not-shown")


def percent(share: float) -> str:
    """Write a share as a whole percentage; what is not quite nothing or all is not called so."""
    rounded = round(100 * share)
    if rounded == 0 and share > 0:
        return "under 1 %"
    return "over 99 %" if rounded == 100 and share < 1 else f"{rounded} %"


def minutes(number: float) -> str:
    """Write minutes of work."""
    if number < 1:
        return "under a minute"
    return "1 minute" if round(number) == 1 else f"{number:.0f} minutes"


def when(text: str) -> str:
    """Write a time of the book (ISO 8601, UTC) as people do: "25 Nov 2026, 13:05"."""
    moment = datetime.fromisoformat(text).astimezone()
    return f"{moment.day} {moment:%b %Y, %H:%M}"


def capital(text: str) -> str:
    """Begin with a capital, leave the rest alone."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """End a sentence that has no end yet."""
    return text if text.rstrip()[-1:] in (".", "?", "!") else f"{text}."


def see(line: Mapping[str, Any], machine: str) -> str:
    """Return the path where a line of evidence is seen: its own page when its sort has one."""
    page = line.get("sort") if line.get("sort") in WITH_A_PAGE else "evidence"
    return f"/machines/{machine}/{page}/{line['key']}"


def bar(v: Mapping[str, Any]) -> dict[str, object] | None:
    """Return the places (0 to 300) of a limit and of the reading's interval on it; None where there is no limit."""
    low, high, at = v.get("low"), v.get("high"), v.get("value")
    if low is None and high is None:
        return None
    spread = COVERAGE_FACTOR * (v.get("u") or 0.0)
    ends = [x for x in (low, high) if x is not None] + ([at - spread, at + spread] if at is not None else [])
    size = (max(ends) - min(ends)) or abs(ends[0]) or 1.0
    first, last = min(ends) - 0.2 * size, max(ends) + 0.2 * size

    def place(x: float) -> float:
        return float(round(300 * (x - first) / (last - first), 2))

    left, right = (0.0 if low is None else place(low)), (300.0 if high is None else place(high))
    out = {"low": left, "width": round(right - left, 2), "open_low": low is None, "open_high": high is None}
    places = (None, None, None) if at is None else (place(at), place(at - spread), place(at + spread))
    return out | dict(zip(("at", "from", "to"), places, strict=True))


def bar_words(v: Mapping[str, Any], units: str = "metric") -> str:
    """Say what the bar shows, for people who cannot see it."""
    read = "no reading" if v.get("value") is None else f"reading {value(v, units)}, give or take {doubt(v, units)}"
    return f"Limit {limits(v, units)}; {read}; {v.get('state', '')}".rstrip("; ")


def _on_page(unit: str, units: str) -> tuple[float, str]:
    factor, shown = IN_INCHES.get(unit, (1.0, unit)) if units == "inch" else (1.0, unit)
    return factor, SHORT.get(shown, shown)


def _expanded(measured: Mapping[str, Any], factor: float) -> float | None:
    u = measured.get("u")
    return None if u is None else COVERAGE_FACTOR * float(u) * factor


def _digits(number: float, expanded: float | None) -> str:
    if expanded and expanded >= SMALLEST_SHOWN:
        return f"{number:z.{decimals_for(expanded)}f}"
    return f"{number:.4g}" if math.isfinite(number) else "not known"


FILTERS = {
    "abs_value": abs_value,
    "value": value,
    "doubt": doubt,
    "extent": length,
    "limits": limits,
    "shape": shape,
    "percent": percent,
    "minutes": minutes,
    "sentence": sentence,
    "see": see,
    "when": when,
    "capital": capital,
    "bar": bar,
    "bar_words": bar_words,
    "in_fields": in_fields,
}
