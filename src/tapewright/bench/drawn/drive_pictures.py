r"""Where the lines of a planned drive stand: current on make and on break, and the first characters.

Picture (x and y in a field of WIDTH by HEIGHT; y grows downwards):

    mA |        ______________      dashed: pull-in, drop-out
       | - - -/- - - - - - - - -
       |     /
       |____/|_|_____________ ms    band: when it operates, with its doubt
"""

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from tapewright.bench.drawn.axis import Axis
from tapewright.coil.drive.plan import Plan
from tapewright.coil.drive.solved import Trace

WIDTH, HEIGHT, POINTS = 1000, 300, 400
#: Room above the highest current.
ROOM = 1.12
SHOWN_CHARACTERS = 2
FloatArray = npt.NDArray[np.float64]


def drive_pictures(plan: Plan) -> dict[str, object]:
    """Return the three pictures."""
    highest = 1e3 * ROOM * max(plan.request.drive.steady_a, plan.make.highest("load_a"))
    coil = plan.request.drive.coil
    named = (("pull-in", 1e3 * coil.pull_in_a), ("drop-out", 1e3 * coil.drop_out_a))
    levels = [{"says": says, "ma": level, "y": _down(level, highest)} for says, level in named]
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "highest_ma": highest,
        "levels": levels,
        "make": _switched(plan, plan.make, "operate_ms", highest),
        "break": _switched(plan, plan.broken, "release_ms", highest),
        "characters": _characters(plan, highest),
    }


def _switched(plan: Plan, trace: Trace, name: str, highest: float) -> dict[str, object]:
    figures = plan.document.readings
    reading = figures.operate_ms if name == "operate_ms" else figures.release_ms
    longest = min(5e3 * plan.request.drive.tau_s, 2e3 * plan.request.unit_s)
    span = min(max(1.6 * (reading.value or 0.0), longest), 1e3 * trace.segments[-1].end_s)
    axis, times = Axis(0.0, span), np.linspace(0, span, POINTS)
    arrives = None
    if reading.value is not None and reading.value <= span:
        spread = reading.expanded or 0.0
        left, right = axis.place(max(0.0, reading.value - spread)), axis.place(reading.value + spread)
        arrives = {"x": 10 * axis.place(reading.value), "left": 10 * left, "width": 10 * (right - left)}
    points = _line(times, _current(trace, times), span, highest)
    return {"ticks": axis.ticks(5), "points": points, "arrives": arrives, "marks": [], "held": []}


def _characters(plan: Plan, highest: float) -> dict[str, object]:
    unit, stop = 1e3 * plan.request.unit_s, plan.request.stop_units
    codes = plan.request.codes[:SHOWN_CHARACTERS]
    span = (6 + stop) * unit * len(codes)
    marks = []
    for number, code in enumerate(codes):
        begin = number * (6 + stop) * unit
        spans = [(k, 1.0) for k in range(1, 6) if code[k - 1] == "1"] + [(6, stop)]
        marks += [{"x": WIDTH * (begin + k * unit) / span, "width": WIDTH * long * unit / span} for k, long in spans]
    times = np.linspace(0, span * (1 - 1e-9), 3 * POINTS)
    return {
        "ticks": Axis(0.0, span).ticks(8),
        "marks": marks,
        "held": _held(plan, span),
        "points": _line(times, _current(plan.stream.trace, times), span, highest),
        "arrives": None,
    }


def _held(plan: Plan, span_ms: float) -> list[dict[str, float]]:
    """Return when the armature is in; it is in when the text begins, because the line rests on mark."""
    out, since = [], 0.0
    inside = True
    for instant in plan.stream.instants:
        if instant.followed_s is None or 1e3 * instant.followed_s > span_ms:
            continue
        at = 1e3 * instant.followed_s
        if inside and not instant.to_mark:
            out.append((since, at))
        since, inside = at, instant.to_mark
    if inside:
        out.append((since, span_ms))
    return [{"x": WIDTH * a / span_ms, "width": WIDTH * (b - a) / span_ms} for a, b in out]


def _current(trace: Trace, times_ms: FloatArray) -> FloatArray:
    return np.clip(1e3 * trace.sample(times_ms * 1e-3)["coil_a"], 0, None)


def _line(times: Iterable[float], values: FloatArray, span: float, highest: float) -> str:
    return " ".join(f"{WIDTH * t / span:.1f},{_down(v, highest):.1f}" for t, v in zip(times, values, strict=True))


def _down(value: float, highest: float) -> float:
    return round(HEIGHT * (1 - min(max(float(value) / highest, 0.0), 1.0)), 2)
