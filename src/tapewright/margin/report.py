"""A receiver's range and margin, as JSON and as words with the scale as a picture."""

from collections.abc import Mapping
from typing import Any

from tapewright.furniture.json_values import judged, measured
from tapewright.furniture.writing import verdict_text
from tapewright.margin.document import PLAIN, Range
from tapewright.margin.find import Search
from tapewright.number import Verdict

WIDE = 60
SIGNS = {"right": "o", "wrong": "x", "can't say": "?"}
#: what usually settles an end that is open after the first questions
MORE_QUESTIONS = 6
AXES = {"scale": "points of the scale", "signal": "per cent of a unit"}


def margin_document(
    search: Search,
    found: Range,
    verdict: Verdict,
    way: str,
    judged_by: Mapping[int, str],
    *,
    speed_proven: bool,
    stands_at: float | None = None,
) -> dict[str, Any]:
    """Return the document tapewright/margin/1.

    Args:
        search: the questions and answers.
        found: what they show.
        verdict: of the margin.
        way: "scale" or "signal".
        judged_by: number of a question -> name of the file that answered it.
        speed_proven: whether the speed is.
        stands_at: where the machine's pointer was found.
    """
    following = search.next()
    return {
        "format": "tapewright/margin/1",
        "by": way,
        "scale": {"low": search.scale.low, "high": search.scale.high},
        "questions": [
            {"n": n, "at": one.at, "answer": one.answer} | ({"judged_by": judged_by[n]} if n in judged_by else {})
            for n, one in enumerate(search.asked, start=1)
        ],
        "state": state_of(search, found),
        "next": following,
        "orientation_low": measured(found.low),
        "orientation_high": measured(found.high),
        "range_points": measured(found.points),
        "margin_percent": measured(found.margin),
        "margin_at_least_percent": found.at_least,
        "best_setting": measured(found.best),
        "reads_right_nowhere": found.nowhere,
        "speed_proven": speed_proven,
        "stands_at": stands_at,
        "notes": _notes(found),
        "verdicts": [judged(verdict)],
    }


def state_of(search: Search, found: Range) -> str:
    """Return "found", "nowhere", "asking" or "not enough"."""
    if found.nowhere > PLAIN:
        return "nowhere"
    if search.next() is not None:
        return "asking"
    return "found" if found.found else "not enough"


def margin_words(search: Search, found: Range, verdict: Verdict, way: str) -> str:
    """Say the same to a person."""
    n = len(search.asked)
    lines = [f"After {n} question{'s' * (n != 1)} ({AXES[way]}; o right, x wrong)", *_picture(search, found), ""]
    if found.nowhere > PLAIN:
        lines += ["No setting reads right. Look at loop current, speed and selector before the range."]
    else:
        lines += [
            f"  Low end   {found.low}",
            f"  High end  {found.high}",
            f"  Set it to {found.best}",
            f"  Margin    {_margin(found)} of a unit",
        ]
    if state_of(search, found) == "not enough":
        lines += [_not_enough(search, found)]
    return "\n".join([*lines, "", *verdict_text(verdict)])


def _not_enough(search: Search, found: Range) -> str:
    """Say which end is open, and how to go on."""
    worst = max((("low", found.low), ("high", found.high)), key=lambda end: end[1].u or 0.0)
    more = len(search.asked) + MORE_QUESTIONS
    return (
        f"  The {worst[0]} end is the more open one: near it the line prints right at one time and wrong at another.\n"
        f"  --most {more} goes on; with --session the answers so far are kept."
    )


def _margin(found: Range) -> str:
    if found.at_least is not None:
        return f"at least {found.at_least:.0f} percent (an end lies beyond the scale)"
    return str(found.margin)


def _notes(found: Range) -> list[str]:
    return [r.how for r in (found.low, found.high) if r.value is None and r.how]


def _picture(search: Search, found: Range) -> list[str]:
    """Draw the scale: the answers above, the range that reads right below."""
    low, high = search.scale.low, search.scale.high

    def at(value: float) -> int:
        return round((value - low) / (high - low) * (WIDE - 1))

    marks = [" "] * WIDE
    for one in search.asked:
        marks[at(one.at)] = SIGNS[one.answer]
    if found.nowhere > PLAIN:
        bar = "-" * WIDE
    else:
        begin, end = (max(0, min(WIDE - 1, at(low if v is None else v))) for v in (found.low.value, found.high.value))
        end = WIDE - 1 if found.high.value is None else end
        bar = "".join("=" if begin <= n <= end else "-" for n in range(WIDE))
    return [f"  {'':>5}  {''.join(marks).rstrip()}", f"  {low:>5g} |{bar}| {high:g}"]
