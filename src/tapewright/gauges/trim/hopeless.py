"""When nothing lands: which limits conflict, or which knob does nothing."""

from itertools import combinations

import numpy as np

from tapewright.gauges.trim.interval_fit import FloatArray
from tapewright.gauges.trim.search import aimed_move, distances, least_distance, room
from tapewright.gauges.trim.sensitivity import CLEAR, SMALL, Model, slopes

#: settings looked at when all seems lost, in step limits; plainly outside, in standard deviations; near, in steps
FAR, FAR_UNCLEAR, PLAINLY, NEAR = 10.0, 5.0, 3.0, 0.1
CHECK_IDLE = "Is it the right screw, and is its lock nut loose?"


def why_hopeless(model: Model) -> str:
    """Find the reason why no setting in reach lands; empty when one may."""
    J = len(model.problem.targets)
    everything = tuple(range(J))
    if not _beyond_hope(model, everything):
        return ""
    dead = [k.name for n, k in enumerate(model.problem.knobs) if does_nothing(model, n)]
    idle = f" {' and '.join(dead)} moves no reading. {CHECK_IDLE}" if dead else ""
    for size in (1, 2, 3):
        for group in combinations(everything, size):
            if size < J and _beyond_hope(model, group):
                return _conflict(model, [model.problem.targets[j].name for j in group]) + idle
    return _conflict(model, [t.name for t in model.problem.targets]) + idle


def _reach(model: Model) -> FloatArray:
    """How many steps of each knob are looked at: many where its effect is clear, few where none was seen."""
    clear = np.zeros(len(model.problem.knobs), dtype=bool)
    for j in range(len(model.problem.targets)):
        centre, doubt = slopes(model, j)
        clear |= np.abs(centre) > CLEAR * doubt
    aimed = np.abs(aimed_move(model, 1000.0)) / model.scales.step
    return np.where(clear, np.maximum(FAR, 1.5 * aimed), FAR_UNCLEAR)


def _beyond_hope(model: Model, group: tuple[int, ...]) -> bool:
    """Return whether no setting in reach may bring the group inside.

    Either every setting leaves some reading out by several of its standard deviations, or the machine already
    stands where the group fits best and one of it is plainly outside.
    """
    best, distance = least_distance(model, _reach(model), group)
    if distance > PLAINLY:
        return True
    here = distances(model, np.zeros((1, len(best))), group).max()
    gone = np.abs(best) / model.scales.step
    return bool(here > PLAINLY and distance > PLAINLY / 2 and gone.max() < NEAR)


def _conflict(model: Model, names: list[str]) -> str:
    if len(names) == 1:
        return f"No setting of the knobs within reach brings {names[0]} inside its limits.{_ends_reached(model)}"
    if len(names) == 2:
        return f"The limits conflict: whatever brings {names[0]} inside puts {names[1]} outside.{_ends_reached(model)}"
    return f"The limits conflict: {', '.join(names)} cannot all be inside together.{_ends_reached(model)}"


def _ends_reached(model: Model) -> str:
    least, most = room(model, 1.0)
    ended = [
        k.name
        for k, a, b in zip(model.problem.knobs, least, most, strict=True)
        if (k.high is not None and b < 1e-9) or (k.low is not None and a > -1e-9)
    ]
    return f" {', '.join(ended)} is at its end: do not force it." if ended else ""


def does_nothing(model: Model, knob: int) -> bool:
    """Return whether a knob is known to move no reading."""
    for j in range(len(model.problem.targets)):
        centre, doubt = slopes(model, j)
        if abs(centre[knob]) > CLEAR * doubt[knob] or doubt[knob] > SMALL * model.scales.width[j]:
            return False
    return True
