"""The speed by several ways, held against each other, as JSON and as words."""

from fractions import Fraction
from typing import Any

from tapewright.furniture.json_values import judged, measured
from tapewright.furniture.writing import verdict_text
from tapewright.motor.agreement import Agreement
from tapewright.motor.cautions import READ_AT_SPEED
from tapewright.motor.train_report import fast_or_slow
from tapewright.motor.ways import Way
from tapewright.number import Reading, Verdict


def speed_document(agreement: Agreement, baud: Fraction, verdict: Verdict) -> dict[str, Any]:
    """Return the document tapewright/speed/1."""
    return {
        "format": "tapewright/speed/1",
        "nominal_baud": float(baud),
        "ways": [
            {
                "way": way.name,
                "error_percent": measured(way.error_percent),
                "baud": measured(_baud(way.error_percent, baud)),
                "rivals_percent": list(way.rivals_percent),
                "reread": way.name in agreement.reread,
                "saw": way.saw,
                "mind": way.mind,
            }
            for way in agreement.ways
        ],
        "consistent": agreement.consistent if agreement.degrees else None,
        "chi2": agreement.chi2,
        "degrees": agreement.degrees,
        "probability": agreement.probability,
        "pairs": [
            {"first": p.first, "second": p.second, "difference_percent": p.difference_percent, "u_percent": p.u_percent,
             "e_number": p.e_number, "agree": p.agree}
            for p in agreement.pairs
        ],
        "odd_one": agreement.odd_one,
        "error_percent": measured(agreement.error_percent),
        "baud": measured(_baud(agreement.error_percent, baud)),
        "unit_ms": measured(_unit(agreement.error_percent, baud)),
        "verdicts": [judged(verdict)],
        "cautions": list(READ_AT_SPEED),
    }  # fmt: skip


def speed_words(agreement: Agreement, baud: Fraction, verdict: Verdict) -> str:
    """Say the same to a person, the caution first."""
    lines = ["Before you look", *(f"  {c}" for c in READ_AT_SPEED), "", f"Against {float(baud):.6g} Bd"]
    lines += [line for way in agreement.ways for line in _way_lines(way, agreement)]
    lines += ["", *_together(agreement, baud), "", *verdict_text(verdict)]
    if agreement.degrees == 0 and agreement.ways[0].rivals_percent:
        lines += ["A strobe alone cannot tell these speeds apart: time some characters too (--timed)."]
    return "\n".join(lines)


def _way_lines(way: Way, agreement: Agreement) -> list[str]:
    error = way.error_percent
    lines = [f"  {way.name:<12} {fast_or_slow(error.value or 0.0, error.expanded):<22} {way.saw}"]
    if way.name in agreement.reread:
        lines += [f"{'':15}the pattern that stands still is not that of the right speed: the other ways say so"]
    near = sorted(way.rivals_percent, key=abs)[:3]
    if near:
        lines += [f"{'':15}would stand still too, some with more and paler spots, at "
                  f"{', '.join(f'{r:+.3g} %' for r in near)}"]  # fmt: skip
    return [*lines, f"{'':15}mind: {way.mind}"]


def _together(agreement: Agreement, baud: Fraction) -> list[str]:
    error = agreement.error_percent
    lines = []
    if agreement.degrees:
        chance = f"by chance in {100 * agreement.probability:.2g} of 100"
        by_chance = f"chi-square {_short(agreement.chi2)} on {agreement.degrees}, {chance}"
        lines += [f"The ways {'agree' if agreement.consistent else 'disagree'} ({by_chance})."]
        lines += [
            f"  {p.first} and {p.second} differ by {_short(abs(p.difference_percent))} %, "
            "more than their doubts together"
            for p in agreement.pairs
            if not p.agree
        ]
    if error.value is None:
        return [*lines, f"No speed is given: {error.how}."]
    unit = _unit(error, baud)
    return [*lines, f"The machine runs {fast_or_slow(error.value, error.expanded)}: {_baud(error, baud)}, unit {unit}."]


def _short(number: float) -> str:
    """Write a number to about two digits, a large one whole and without an exponent."""
    return f"{number:,.0f}" if number >= 10 else f"{number:.2g}"


def _baud(error: Reading, baud: Fraction) -> Reading:
    if error.value is None:
        return Reading(None, None, "Bd", how=error.how)
    return Reading(float(baud) * (1 + error.value / 100), float(baud) * (error.u or 0.0) / 100, "Bd", error.n)


def _unit(error: Reading, baud: Fraction) -> Reading:
    if error.value is None or error.value <= -100:
        return Reading(None, None, "ms", how=error.how)
    unit = 1000 / float(baud) / (1 + error.value / 100)
    return Reading(unit, unit * (error.u or 0.0) / 100 / (1 + error.value / 100), "ms", error.n)
