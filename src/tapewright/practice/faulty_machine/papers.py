"""The result documents a faulty machine's line, tape, gauges and coil would give: figures with noise and honest doubt.

The keys are those of the documents the measuring commands write; the figures come from the quantities, at scales
that are common practice, no source. A quantity of 1 is just bad enough to show.
"""

from typing import Any

import numpy as np

from tapewright.practice.faulty_machine.machine import FaultyMachine

UNIT_MS = 20.0
CHARACTERS = 200
#: what each quantity is worth in percent or millimetres at 1
SPEED_PERCENT, RIPPLE_PERCENT, BIAS_PERCENT, WIDTH_MS, SHIFT_MS, BOUNCE_MS = 2.0, 1.2, 6.0, 1.6, 1.2, 1.6


def line_paper(machine: FaultyMachine) -> dict[str, Any] | None:
    """Return a document as from `line read`; None when the machine does not run."""
    if not machine.running:
        return None
    rng, q = machine.rng, machine.quantities.get
    error = SPEED_PERCENT * (q("speed_high", 0.0) - q("speed_low", 0.0)) + rng.normal(0.0, 0.15)
    if q("ratio_off", 0.0) > 0.7:
        error = float(rng.choice([-16.6667, 20.0, -9.1, 10.01]))
    growth = abs(error) * 3.0 + 8.0 * q("slope", 0.0)
    bias = BIAS_PERCENT * (q("bias_long", 0.0) - q("bias_short", 0.0))
    scatter = 1.0 + 2.5 * q("edge_scatter", 0.0)
    synchronous = 2.0 + 2.0 * scatter + abs(bias) + 3.0 * q("element_shift", 0.0)
    return {
        "format": "tapewright/line/1",
        "speed": {
            "unit_ms": _measured(rng, UNIT_MS * (1 - error / 100), 0.01, "ms"),
            "error_percent": _measured(rng, error, 0.1, "percent"),
            "ripple_percent": _measured(rng, 0.15 + RIPPLE_PERCENT * q("hunting", 0.0), 0.08, "percent"),
            "drift_percent": _measured(rng, 1.5 * q("drift", 0.0) + 1.2 * q("slows_warm", 0.0), 0.2, "percent"),
        },
        "characters": [
            {"unit_ms": _measured(rng, UNIT_MS * (1 + 0.012 * q("period_jumps", 0.0) * rng.normal()), 0.02, "ms")}
            for _ in range(CHARACTERS)
        ],
        "distortion": {
            "gross_percent": _measured(rng, synchronous + growth, 0.6, "percent"),
            "synchronous_percent": _measured(rng, synchronous, 0.6, "percent"),
            "marking_bias_percent": _measured(rng, bias, 0.5, "percent"),
            "end_percent": _measured(rng, 0.0, 0.6, "percent"),
            "start_reference_percent": _measured(rng, 6.0 * q("common_shift", 0.0), 0.6, "percent"),
            "scatter_percent": _measured(rng, scatter, 0.2, "percent"),
        },
        "contacts": [_contact(machine, number) for number in range(1, 6)],
        "instrument": _suspicions(machine),
        "errors": None,
    }


def _contact(machine: FaultyMachine, number: int) -> dict[str, Any]:
    rng, mine = machine.rng, number == machine.element

    def q(quantity: str) -> float:
        return machine.quantities.get(quantity, 0.0) if mine else 0.0

    width = WIDTH_MS * (q("mark_long") - q("mark_short"))
    shift = SHIFT_MS * q("element_shift")
    dropouts = rng.poisson(8.0 * q("contact_dirt") + 3.0 * machine.quantities.get("segment_dirt", 0.0) + 0.1)
    return {
        "contact": str(number),
        "closing_late_ms": _measured(rng, shift - width / 2, 0.06, "ms"),
        "opening_late_ms": _measured(rng, shift + width / 2, 0.06, "ms"),
        "bounce_ms": {"median": max(0.0, 0.3 + BOUNCE_MS * q("bounce") + rng.normal(0, 0.08)), "max": 3.0},
        "dropouts": int(dropouts),
    }


def _suspicions(machine: FaultyMachine) -> list[dict[str, str]]:
    known = {"sag": "AC coupling: levels sag", "recording_inverted": "inverted polarity",
             "threshold_matters": "threshold on a slow edge", "recording_gaps": "dropped samples"}  # fmt: skip
    rng = machine.rng
    return [{"suspicion": text, "evidence": "", "do": ""} for quantity, text in known.items()
            if machine.quantities.get(quantity, 0.0) > 0.7 and rng.random() < 0.9]  # fmt: skip


def tape_paper(machine: FaultyMachine) -> dict[str, Any] | None:
    """Return a document as from `tape read`; None when the machine does not run."""
    if not machine.running:
        return None
    rng, q = machine.rng, machine.quantities.get
    pitch = 2.54 - 0.03 * q("pitch_short", 0.0) + 0.03 * q("pitch_long", 0.0)
    sharp, smooth = q("sharp_period", 0.0) > 0.6, q("smooth_period", 0.0) > 0.6
    feed: dict[str, Any] = {
        "pitch_mm": _measured(rng, pitch, 0.003, "mm"),
        "scatter_mm": _measured(rng, 0.02 + 0.05 * q("pitch_uneven", 0.0) + 0.03 * q("overshoot", 0.0), 0.004, "mm"),
        "period_rows": 12 if sharp else 16 if smooth else None,
        "period_kind": "sharp" if sharp else "smooth" if smooth else None,
        "short_rows": [],
        "advanced_mm": _measured(rng, 0.25 * q("code_off_feed", 0.0), 0.02, "mm"),
    }
    tracks = [_track(machine, number) for number in range(1, 6)]
    strip = {"rows": [{"row": n} for n in range(CHARACTERS)], "feed": feed, "tracks": tracks, "errors": None}
    return {"format": "tapewright/tape/1", "strips": [strip]}


def _track(machine: FaultyMachine, number: int) -> dict[str, Any]:
    rng, mine, q = machine.rng, number == machine.element, machine.quantities.get
    empty = mine and q("track_empty", 0.0) > 0.9
    punched = 0 if empty else int(rng.integers(80, 120))
    share = 0.005 + (0.25 * q("holes_partial", 0.0) if mine else 0.0) + 0.3 * q("shallow", 0.0)
    slope = -0.05 * q("slanting", 0.0) * (number - 3)
    small = -0.08 * q("holes_partial", 0.0) if mine else 0.0
    return {
        "track": number,
        "punched": punched,
        "partial": int(rng.binomial(punched, min(0.9, share))),
        "diameter_mm": None if empty else _measured(rng, 1.83 + slope + small, 0.01, "mm"),
        "along_mm": None if empty else _measured(rng, 0.2 * q("track_off", 0.0) if mine else 0.0, 0.015, "mm"),
        "across_mm": None if empty else _measured(rng, 0.0, 0.015, "mm"),
    }


#: requirement -> (check, quantity high, quantity low, low, high, how much a quantity of 1 moves it, unit)
SHEET: tuple[tuple[str, str, str, str, float, float, float, str], ...] = (
    ("contact-gap", "contact gap", "gap_wide", "gap_narrow", 0.2, 0.3, 0.1, "mm"),
    ("contact-pressure", "contact pressure", "pressure_high", "pressure_low", 30.0, 40.0, 10.0, "g"),
    ("contact-resistance", "contact resistance", "contact_dirt", "", 0.0, 1.0, 1.2, "ohm"),
    ("armature-gap", "armature gap", "armature_gap", "pole_touch", 0.05, 0.10, 0.05, "mm"),
    ("armature-spring", "armature spring", "armature_spring", "armature_limp", 150.0, 200.0, 50.0, "g"),
    ("end-play", "end-play", "end_play", "", 0.0, 0.08, 0.08, "mm"),
    ("feed-pawl", "feed pawl travel", "", "pawl_short", 0.3, 0.5, 0.2, "mm"),
    ("interposer", "interposer travel", "", "interposer_short", 1.0, 1.2, 0.2, "mm"),
    ("loop-current", "loop current", "", "current_low", 55.0, 65.0, 12.0, "mA"),
)


def sheet_paper(machine: FaultyMachine) -> dict[str, Any]:
    """Return a document as from `sheet check`, for an invented sheet."""
    rng, q = machine.rng, machine.quantities.get
    requirements = []
    for name, check, more, less, low, high, worth, unit in SHEET:
        middle, u = (low + high) / 2, (high - low) / 12
        value = middle + worth * (q(more, 0.0) - q(less, 0.0)) + rng.normal(0.0, u)
        state = "within" if low <= value - 2 * u and value + 2 * u <= high else "not shown"
        state = "outside" if value + 2 * u < low or value - 2 * u > high else state
        verdict = {"check": check, "state": state, "value": value, "u": u, "low": low, "high": high, "unit": unit}
        requirements.append({"id": name, "verdict": verdict})
    return {"format": "tapewright/sheet/1", "machine": "practice machine", "requirements": requirements}


def coil_paper(machine: FaultyMachine) -> dict[str, Any]:
    """Return a document as from a recorded coil current."""
    rng, q = machine.rng, machine.quantities.get
    landing = 2.0 + 2.5 * q("pull_in_late", 0.0)
    spread = 0.15 + 0.9 * q("landing_unsteady", 0.0)
    moved = q("weak_pull", 0.0) < 1.6 or bool(rng.random() < 0.3)
    closures = [{"landing_ms": _measured(rng, landing + spread * rng.normal(), 0.1, "ms")} for _ in range(12)]
    return {
        "format": "tapewright/coil/1",
        "tau_ms": _measured(rng, 1.2 + 3.0 * q("rise_slow", 0.0), 0.15, "ms"),
        "moved": moved,
        "landing_ms": _measured(rng, landing, 0.1, "ms") if moved else None,
        "closures": closures if moved else [],
    }


def _measured(rng: np.random.Generator, truth: float, u: float, unit: str) -> dict[str, Any]:
    return {"value": float(truth + rng.normal(0.0, u)), "u": u, "unit": unit, "n": CHARACTERS}
