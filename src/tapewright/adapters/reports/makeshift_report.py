"""What a makeshift drive must turn at and is good for, as JSON and as words."""

from fractions import Fraction
from typing import Any

from tapewright.adapters.reports.json_values import judged, measured
from tapewright.adapters.reports.train_report import creep_words, exactly, notes_on, stages_document, stages_words
from tapewright.adapters.reports.verdict_text import verdict_text
from tapewright.core.measurement import State
from tapewright.core.motor.cautions import MAKESHIFT
from tapewright.core.motor.drive_train import Train
from tapewright.core.motor.steadiness import Steadiness
from tapewright.core.motor.ways import rpm_with_creep

GOOD_FOR = {
    State.WITHIN: "Good enough for a verdict on timing. Prove the speed itself beside it.",
    State.OUTSIDE: "For a test of function only: judge no timing while this drive turns the machine.",
    State.NOT_SHOWN: "Not shown: until it is, for a test of function only.",
}


def makeshift_document(train: Train, baud: Fraction, steadiness: Steadiness) -> dict[str, Any]:
    """Give the document tapewright/makeshift/1."""
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
