"""Readings and verdicts as JSON, exactly as the contract writes them, and back."""

from typing import Any

from tapewright.number import Reading, Verdict


def measured(reading: Reading | None) -> dict[str, Any] | None:
    """Return {"value", "u", "unit", "n"}, or None when the value could not be had."""
    if reading is None or reading.value is None:
        return None
    return {"value": reading.value, "u": reading.u, "unit": reading.unit, "n": reading.n}


def judged(verdict: Verdict) -> dict[str, Any]:
    """Return a verdict with its limit, source and standing."""
    limit = verdict.limit
    return {
        "check": limit.check,
        "state": verdict.state.value,
        "value": verdict.value,
        "u": verdict.u,
        "low": limit.low,
        "high": limit.high,
        "unit": limit.unit,
        "source": str(limit.source),
        "standing": limit.source.standing.value,
        "why": verdict.why,
    }
