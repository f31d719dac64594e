"""Trim advice as JSON (the contract's document) and as text for the bench."""

from textwrap import fill
from typing import Any

from tapewright.furniture.json_values import judged, measured
from tapewright.gauges.trim.advice import Advice

FORMAT = "tapewright/trim/1"
WIDTH = 110
HEADLINE = {"probe": "Probe", "move": "Move", "done": "Done", "cannot": "Cannot"}


def trim_json(advice: Advice) -> dict[str, Any]:
    """Return the contract's document."""
    return {
        "format": FORMAT,
        "cautions": list(advice.cautions),
        "sensitivity": {
            reading: {knob: measured(m) for knob, m in knobs.items()} for reading, knobs in advice.sensitivity.items()
        },
        "move": advice.move,
        "predicted": {reading: measured(m) for reading, m in advice.predicted.items()},
        "sure": advice.sure,
        "state": advice.state,
        "why": advice.why,
        "now": [judged(v) for v in advice.now],
        "undo": advice.undo,
        "trials": advice.trials,
    }


def trim_text(advice: Advice) -> str:
    """Return the advice for the bench: what to turn, what it will read, how sure."""
    lines = [fill(f"! {c}.", WIDTH, subsequent_indent="  ") for c in advice.cautions] if advice.move else []
    lines += [*([""] if lines else []), f"{HEADLINE[advice.state]}. {advice.why}", ""]
    units = advice.knob_units
    for knob, amount in advice.move.items():
        lines.append(f"  Turn {knob} by {amount:+g} {units[knob]}, from {advice.undo[knob]:g} to {advice.goal[knob]:g}")
    if advice.move:
        lines += ["", "  Then it should read"]
    else:
        lines.append("  As it stands")
    now = {v.limit.check: v for v in advice.now}
    width = max(len(name) for name in advice.predicted)
    for name, reading in advice.predicted.items():
        limit = now[name].limit
        ends = " to ".join(f"{end:g}" for end in (limit.low, limit.high) if end is not None)
        words = (
            "limit"
            if limit.low is not None and limit.high is not None
            else "at least"
            if limit.high is None
            else "at most"
        )
        state = "" if advice.move else f"  {now[name].state.value}"
        lines.append(f"    {name:<{width}}  {reading}  ({words} {ends}){state}")
    lines += ["", f"  Sure that all are then truly inside: {percent(advice.sure)}"]
    lines += ["", "  What a turn does, as known so far"]
    for name, knobs in advice.sensitivity.items():
        lines += [f"    {knob} on {name}: {slope}" for knob, slope in knobs.items()]
    if advice.move:
        back = ", ".join(f"{knob} to {advice.undo[knob]:g}" for knob in advice.move)
        lines += ["", f"  To undo: {back}"]
    return "\n".join(lines)


def percent(probability: float) -> str:
    """Write a probability; never as certain."""
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"
