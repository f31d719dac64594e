"""Pairs of wheels for another speed, as JSON and as words."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from tapewright.adapters.reports.json_values import judged
from tapewright.adapters.reports.train_report import fast_or_slow
from tapewright.adapters.reports.verdict_text import limit_text
from tapewright.core.measurement import Verdict
from tapewright.core.motor.cautions import CHANGE_WHEELS
from tapewright.core.motor.drive_train import Stage
from tapewright.core.motor.pinion import NOT_UNDERCUT, Pair

Found = Sequence[tuple[Pair, Verdict]]


def pinion_document(stage: Stage, factor: Fraction, found: Found) -> dict[str, Any]:
    """Give the document tapewright/pinion/1."""
    return {
        "format": "tapewright/pinion/1",
        "pair_now": {"pinion": int(stage.driver), "gear": int(stage.driven)},
        "factor": str(factor),
        "wanted_ratio": str(stage.ratio * factor),
        "pairs": [
            {
                "way": pair.way,
                "pinion": pair.pinion,
                "gear": pair.gear,
                "residual": str(pair.residual),
                "residual_percent": float(100 * pair.residual),
                "apart_modules": float(pair.apart_modules),
                "undercut": pair.undercut,
                "verdict": judged(verdict),
            }
            for pair, verdict in found
        ],
        "cautions": list(CHANGE_WHEELS),
    }


def pinion_words(stage: Stage, factor: Fraction, found: Found) -> str:
    """Say the same to a person, the caution first."""
    now, wanted = f"{int(stage.driver)}:{int(stage.driven)}", stage.ratio * factor
    lines = ["Before a cover comes off", *(f"  {c}" for c in CHANGE_WHEELS), ""]
    fast = f"{factor} ({float(factor):.6g}) times as fast as now"
    lines += [f"The pair {now} has to turn the gear {fast}: wanted {wanted} = {float(wanted):.6f}."]
    if not found:
        lines += ["No pair of whole teeth comes within 5 % of that."]
    way = ""
    for pair, verdict in found:
        if pair.way != way:
            way = pair.way
            lines += ["", f"  {_HEADS[way]}"]
        teeth, state = f"{pair.pinion:>4}:{pair.gear:<4}", verdict.state.value
        lines += [f"    {teeth} {_left(pair):<14} {state:<10} {_centres(pair)}{_thin(pair)}"]
    if found:
        limit = found[0][1].limit
        lines += ["", f"  Limit {limit_text(limit)}: {limit.source} ({limit.source.standing.value})"]
        lines += ["  Same module and same pressure angle as the wheel that stays; measure before you order."]
    return "\n".join(lines)


def _left(pair: Pair) -> str:
    return "exact" if not pair.residual else fast_or_slow(float(100 * pair.residual), None)


def _centres(pair: Pair) -> str:
    if not pair.apart_modules:
        return "fits the same centres"
    side = "apart" if pair.apart_modules > 0 else "nearer"
    return f"centres {abs(float(pair.apart_modules)):g} modules {side}"


def _thin(pair: Pair) -> str:
    return f"; under {NOT_UNDERCUT} teeth: undercut, unless the profile is shifted" if pair.undercut else ""


_HEADS = {
    "pinion alone": "Another pinion on the same gear",
    "same centres": "Another pair on the same centres",
    "any pair": "Another pair, motor moved",
}
