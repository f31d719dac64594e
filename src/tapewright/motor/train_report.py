"""A worked-out train as JSON and as words.

Pairs of wheels for another speed, as JSON and as words.

What a makeshift drive must turn at and is good for, as JSON and as words.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from tapewright.furniture.json_values import judged, measured
from tapewright.furniture.writing import limit_text, verdict_text
from tapewright.motor.cautions import CHANGE_WHEELS, MAKESHIFT
from tapewright.motor.drive_train import Stage, Train
from tapewright.motor.pinion import NOT_UNDERCUT, Pair
from tapewright.motor.steadiness import Steadiness
from tapewright.motor.train_result import TrainResult
from tapewright.motor.ways import baud_with_creep, rpm_with_creep
from tapewright.number import State, Verdict
from tapewright.number.reading import decimals_for

CREEP = "A smooth belt creeps: 1 % behind with a doubt of 1 % is taken (common practice, no source)."


def train_document(result: TrainResult) -> dict[str, Any]:
    """Return the document tapewright/train/1; exact numbers stand as fractions in text beside their decimals."""
    return {
        "format": "tapewright/train/1",
        "stages": stages_document(result.train),
        "ratio": str(result.train.ratio),
        "units_per_turn": float(result.train.units_per_turn),
        "nominal_baud": float(result.baud),
        "wanted": _speeds(result.train, result.wanted_rpm),
        "given": None if result.motor_rpm is None else _speeds(result.train, result.motor_rpm),
        "wanted_with_creep": measured(rpm_with_creep(result.train, float(result.wanted_rpm)))
        if result.train.belts
        else None,
        "error_percent": measured(result.error_percent),
        "verdicts": [judged(result.verdict)] if result.verdict else [],
        "notes": notes_on(result.train),
    }


def train_words(result: TrainResult) -> str:
    """Say the same to a person."""
    train, wanted = result.train, _speeds(result.train, result.wanted_rpm)
    turns, units = float(1 / train.ratio), f"{float(train.units_per_turn):g} units a turn"
    lines = [
        f"Train {stages_words(train)} = {train.ratio}: {turns:.6g} turns of the motor for one of the cam shaft.",
        f"For {float(result.baud):.6g} Bd (unit {wanted['unit_ms']:.3f} ms, {units})",
        f"  motor {exactly(result.wanted_rpm)} rpm, cam shaft {exactly(train.shaft_rpm(result.wanted_rpm))} rpm",
        *creep_words(train, result.wanted_rpm),
    ]
    if result.motor_rpm is not None and result.verdict and result.error_percent:
        given = _speeds(train, result.motor_rpm)
        out = fast_or_slow(result.error_percent.value or 0.0, result.error_percent.expanded)
        creeping = f" without creep, {baud_with_creep(train, given['baud'])} with it" if train.belts else ""
        lines += [
            f"At {exactly(result.motor_rpm)} rpm of the motor",
            f"  cam shaft {exactly(train.shaft_rpm(result.motor_rpm))} rpm, unit {given['unit_ms']:.3f} ms, "
            f"{given['baud']:.6g} Bd{creeping}: {out}",
            *verdict_text(result.verdict),
        ]
    return "\n".join(lines + notes_on(train))


def creep_words(train: Train, motor_rpm: Fraction) -> list[str]:
    """Say what the motor must really turn at, where smooth belts creep; nothing where there are none."""
    return [f"  with the belt's creep {rpm_with_creep(train, float(motor_rpm))}"] if train.belts else []


def stages_document(train: Train) -> list[dict[str, Any]]:
    """Return the stages."""
    return [{"driver": float(s.driver), "driven": float(s.driven), "belt": s.belt} for s in train.stages]


def stages_words(train: Train) -> str:
    """Name the stages in the order given."""
    return " x ".join(_stage(s) for s in train.stages) or "direct"


def notes_on(train: Train) -> list[str]:
    """Say what the exact fractions leave out."""
    return [CREEP] if train.belts else []


def exactly(number: Fraction) -> str:
    """Write a fraction as a decimal, and exactly where the decimal is not."""
    if number.denominator == 1:
        return str(number.numerator)
    short = f"{float(number):.2f}"
    return short if Fraction(short) == number else f"{short} (exactly {number})"


def fast_or_slow(percent: float, expanded: float | None) -> str:
    """Say how much too fast or too slow."""
    if abs(percent) < 5e-4 and not expanded:
        return "right"
    amount = f"{abs(percent):.3g}"
    if expanded:
        digits = decimals_for(expanded)
        amount = f"{abs(percent):.{digits}f} ± {expanded:.{digits}f}"
        if float(f"{percent:.{digits}f}") == 0:
            return f"{amount} % out"
    return f"{amount} % {'fast' if percent > 0 else 'slow'}"


def _speeds(train: Train, motor_rpm: Fraction) -> dict[str, Any]:
    baud = train.baud(motor_rpm)
    shaft = train.shaft_rpm(motor_rpm)
    return {
        "motor_rpm": float(motor_rpm),
        "motor_rpm_exact": str(motor_rpm),
        "cam_shaft_rpm": float(shaft),
        "cam_shaft_rpm_exact": str(shaft),
        "unit_ms": float(1000 / baud),
        "baud": float(baud),
    }


def _plain(number: Fraction) -> str:
    return str(number.numerator) if number.denominator == 1 else f"{float(number):g}"


def _stage(stage: Stage) -> str:
    return f"{_plain(stage.driver)}:{_plain(stage.driven)}" + (" belt" if stage.belt else "")


Found = Sequence[tuple[Pair, Verdict]]


def pinion_document(stage: Stage, factor: Fraction, found: Found) -> dict[str, Any]:
    """Return the document tapewright/pinion/1."""
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


GOOD_FOR = {
    State.WITHIN: "Good enough for a verdict on timing. Prove the speed itself beside it.",
    State.OUTSIDE: "For a test of function only: judge no timing while this drive turns the machine.",
    State.NOT_SHOWN: "Not shown: until it is, for a test of function only.",
}


def makeshift_document(train: Train, baud: Fraction, steadiness: Steadiness) -> dict[str, Any]:
    """Return the document tapewright/makeshift/1."""
    rpm = train.motor_rpm(baud)
    return {
        "format": "tapewright/makeshift/1",
        "stages": stages_document(train),
        "units_per_turn": float(train.units_per_turn),
        "nominal_baud": float(baud),
        "must_turn_rpm": float(rpm),
        "must_turn_rpm_exact": str(rpm),
        "must_turn_with_creep": measured(rpm_with_creep(train, float(rpm))) if train.belts else None,
        "cam_shaft_rpm": float(train.shaft_rpm(rpm)),
        "swing_percent": measured(steadiness.swing_percent),
        "displaced_percent": measured(steadiness.displaced),
        "good_for": GOOD_FOR[steadiness.verdict.state],
        "verdicts": [judged(steadiness.verdict)],
        "cautions": list(MAKESHIFT),
        "notes": notes_on(train),
    }


def makeshift_words(train: Train, baud: Fraction, steadiness: Steadiness) -> str:
    """Say the same to a person, the caution first."""
    rpm, verdict = train.motor_rpm(baud), steadiness.verdict
    lines = ["Before it turns anything", *(f"  {c}" for c in MAKESHIFT), ""]
    lines += [
        f"For {float(baud):.6g} Bd it must turn at {exactly(rpm)} rpm",
        f"  through {stages_words(train)}; cam shaft {exactly(train.shaft_rpm(rpm))} rpm, "
        f"{float(train.units_per_turn):g} units a turn",
        *creep_words(train, rpm),
    ]
    if steadiness.displaced.value is not None:
        lines += [
            f"Its speed swings by {steadiness.swing_percent} either way;",
            f"  that displaces an instant by up to {steadiness.displaced} of a unit",
        ]
    lines += [*verdict_text(verdict), GOOD_FOR[verdict.state]]
    return "\n".join(lines + notes_on(train))
