"""A worked-out train as JSON and as words."""

from fractions import Fraction
from typing import Any

from tapewright.adapters.reports.json_values import judged, measured
from tapewright.adapters.reports.verdict_text import verdict_text
from tapewright.core.measurement.reading import decimals_for
from tapewright.core.motor.drive_train import Stage, Train
from tapewright.core.motor.train_result import TrainResult
from tapewright.core.motor.ways import baud_with_creep, rpm_with_creep

CREEP = "A smooth belt creeps: 1 % behind with a doubt of 1 % is taken (common practice, no source)."


def train_document(result: TrainResult) -> dict[str, Any]:
    """Give the document tapewright/train/1; exact numbers stand as fractions in text beside their decimals."""
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
    """Give the stages."""
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
