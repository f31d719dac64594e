"""The unit length, found without being told, and how sure that is.

Candidates on a logarithmic scale are each tried on stretches of the recording: the characters are framed, the
displacement of the two directions (bias) is taken out, and what remains is the misfit. A fine unit fits anything
and a coarse one nothing, but stops must be there and a character must hold five elements, which decides. Where two
lengths fit equally well (a run of one character can do that) the answer says so.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tapewright.line.frames import ELEMENTS, PACE_STEP, Frames, Offsets, find_frames, follow_frames
from tapewright.line.instants import Instants, find_instants
from tapewright.line.own_kind import FEWEST, OURS, left_over
from tapewright.line.transitions import SETTLING_UNITS, Transitions, find_transitions
from tapewright.recordings.capture import FloatArray, RawEdges
from tapewright.reference.speeds import CLASSES

SHORTEST_S, LONGEST_S = 0.006, 0.036
COARSE_STEP, REFINED = 1.03, 6
#: How many stretches of how many edges are tried: a first look, then a thorough one at the best lengths.
STRETCHES, FIRST_LOOK_EDGES, SAMPLE_EDGES, REST_S = 3, 130, 500, 1.0
#: Misfit of a recording in which no frame is found, and displacement above which framing is done again.
WORST_MISFIT, SHARPER_UNITS = 10.0, 0.05
#: Framing is repeated until the displacements move by less than this, in units, and the unit by less than this share
#: (six units on that is a twentieth of the other): the same characters would be found again.
SETTLED_UNITS, SETTLED_SHARE = 0.02, 1.5e-4
#: A polarity this much worse at the first look is not looked at again.
HOPELESS_MISFIT = 0.4
#: While the unit is unknown the settling window is kept below the shortest element of the fastest machine.
LONGEST_SETTLING_S = 0.005
#: Misfit above which it is tried whether the speed swings or sags; and that of no signal, whatever is tried.
SWINGING, NO_SIGNAL = 0.4, 0.9
#: Misfit added for a unit that is no usual speed; decides only between lengths that fit the same.
UNUSUAL = 0.06
#: Misfit added for bias, per unit squared: of two lengths, rather the one that needs no bias.
BIAS_MISFIT = 0.5
#: Misfit added for a steady stream with pauses that no usual stop explains (1 to 2 units, with some distortion).
LOOSE, SHORTEST_STOP, LONGEST_STOP = 0.03, 0.85, 2.12
#: A unit within this ratio of the nominal one is taken as the one meant, whatever else would fit.
AS_TOLD_RATIO = 1.12
#: A rival this close in misfit and this far in length makes the unit doubtful, if it leaves no larger rest:
#: RIVAL_REST times the best one's rest, or this share of a unit that contacts may well be out by.
RIVAL_MISFIT, RIVAL_RATIO, RIVAL_REST, CONTACT_REST = 0.08, 1.08, 1.5, 0.03


@dataclass(frozen=True, slots=True)
class UnitGuess:
    """A length that makes characters of the recording.

    Attributes:
        unit_s: the length.
        mark_is_high: the polarity it was found with.
        misfit: mean cost of a transition, 0 for a perfect signal; about 1 and more is no start-stop signal.
        rival_s: another length that fits as well; None when there is none.
    """

    unit_s: float
    mark_is_high: bool
    misfit: float
    rival_s: float | None = None


def settling_s(unit_s: float) -> float:
    """Return the settling window for a unit length."""
    return min(SETTLING_UNITS * unit_s, LONGEST_SETTLING_S)


def find_unit(
    edges: RawEdges,
    *,
    mark_is_high: bool,
    about_s: float | None = None,
    elements: int = ELEMENTS,
    hopeless_above: float = float("inf"),
) -> UnitGuess | None:
    """Find the unit length of a recording for one polarity; None when it has no characters at all.

    Args:
        edges: the recording.
        mark_is_high: the polarity to try.
        about_s: the nominal length when it is known. It takes the place of the usual speeds; lengths far from it
            are tried all the same, because a wrong gear or another mains frequency is a fault like any other.
        elements: elements in a character.
        hopeless_above: misfit of the other polarity plus HOPELESS_MISFIT; a first look worse than that is enough.
    """
    usual = CLASSES if about_s is None else (1 / about_s,)
    shortest, longest = min(SHORTEST_S, 0.85 / max(usual)), max(LONGEST_S, 1.15 / min(usual))
    coarse = _spread(shortest, longest, COARSE_STEP)
    first_look = _sample(edges, mark_is_high, FIRST_LOOK_EDGES)
    costs = np.array([_misfit(first_look, unit, mark_is_high, elements, usual) for unit in coarse])
    if not np.isfinite(costs).any():
        return None
    if costs.min() > hopeless_above:
        return UnitGuess(float(coarse[int(np.argmin(costs))]), mark_is_high, float(costs.min()))
    sample = _sample(edges, mark_is_high, SAMPLE_EDGES)
    best: dict[float, float] = {}
    refined: list[int] = []
    for place in np.argsort(costs)[:REFINED].tolist():
        if any(abs(place - other) <= 1 for other in refined):
            continue
        refined.append(place)
        for unit in _near(float(coarse[place]), sample, mark_is_high, elements, usual):
            best[unit] = _misfit(sample, unit, mark_is_high, elements, usual)
    unit = min(best, key=lambda u: (best[u], u))
    if best[unit] > SWINGING:
        swinging = _of_a_swing(sample, mark_is_high, elements, usual)
        if swinging is not None:
            return swinging
    as_told = about_s is not None and max(unit / about_s, about_s / unit) < AS_TOLD_RATIO
    rival = None if as_told else _rival(sample, best, unit, mark_is_high, elements)
    return UnitGuess(unit, mark_is_high, best[unit], rival)


def _of_a_swing(sample: RawEdges, mark_is_high: bool, elements: int, usual: tuple[float, ...]) -> UnitGuess | None:
    """Return the usual length at which a sender whose speed swings or sags leaves nearly nothing over, if any."""
    found = []
    for unit in (1 / baud for baud in usual):
        line = find_transitions(sample, mark_is_high=mark_is_high, settling_s=settling_s(unit))
        frames = follow_frames(line, unit, elements=elements)
        if frames.start.size >= FEWEST and left_over(frames) <= OURS and frames.cost < NO_SIGNAL:
            found.append((frames.cost, unit * float(frames.pace.mean())))
    return UnitGuess(min(found)[1], mark_is_high, min(found)[0]) if found else None


def _near(
    coarse_s: float, sample: RawEdges, mark_is_high: bool, elements: int, usual: tuple[float, ...]
) -> list[float]:
    """Return lengths near a coarse one: itself, that refined by regression, and usual speeds within reach."""
    line = find_transitions(sample, mark_is_high=mark_is_high, settling_s=settling_s(coarse_s))
    named = [1 / baud for baud in usual if abs(np.log(coarse_s * baud)) < np.log(COARSE_STEP)]
    return [coarse_s, *named, fit_unit(line, coarse_s, elements)[0]]


def _rival(
    sample: RawEdges, misfits: dict[float, float], best: float, mark_is_high: bool, elements: int
) -> float | None:
    """Return the other length that explains the recording as well as the best does, if there is one."""

    def rest(unit_s: float) -> float:
        line = find_transitions(sample, mark_is_high=mark_is_high, settling_s=settling_s(unit_s))
        refined, offsets, _, instants = fit_unit(line, unit_s, elements)
        middle = np.where(instants.to_mark, offsets.to_mark, offsets.to_space)
        return float(np.sqrt(np.mean((instants.deviation_units(refined) - middle) ** 2))) if middle.size else 1.0

    near = sorted((m, u) for u, m in misfits.items() if m < misfits[best] + RIVAL_MISFIT)
    allowed: float | None = None
    tried: list[float] = [best]
    for _, unit in near:
        if all(max(unit, other) / min(unit, other) > RIVAL_RATIO for other in tried):
            allowed = max(RIVAL_REST * rest(best), CONTACT_REST) if allowed is None else allowed
            if rest(unit) <= allowed:
                return unit
            tried.append(unit)
    return None


def measured_offsets(instants: Instants, unit_s: float) -> Offsets:
    """Return the median displacement of each direction, in units, held to less than 0.45."""
    deviation = instants.deviation_units(unit_s)
    to_mark, to_space = deviation[instants.to_mark], deviation[~instants.to_mark]
    return Offsets(_middle(to_mark), _middle(to_space))


def fit_unit(
    line: Transitions, unit_s: float, elements: int = ELEMENTS, framed: Callable[..., Frames] = find_frames
) -> tuple[float, Offsets, Frames, Instants]:
    """Refine a guessed unit by regression over all instants: elapsed = offset(direction) + k T.

    Framing, offsets and unit are repeated until they agree. Returns the unit, the offsets, frames and instants.
    """
    offsets = Offsets()
    for _ in range(4):
        frames = framed(line, unit_s, offsets=offsets, elements=elements)
        instants = find_instants(line, frames, unit_s, offsets)
        even = replace(instants, elapsed_s=instants.elapsed_s / frames.pace[instants.frame])
        refined = _regress(even, unit_s)
        found = measured_offsets(even, refined)
        moved = abs(found.to_mark - offsets.to_mark) + abs(found.to_space - offsets.to_space)
        done = abs(refined / unit_s - 1) < SETTLED_SHARE and moved < SETTLED_UNITS
        unit_s, offsets = refined, found
        if done:
            break
    return unit_s, offsets, frames, instants


def fit_following(line: Transitions, unit_s: float, elements: int = ELEMENTS) -> tuple[float, Frames, Instants] | None:
    """Fit a sender whose speed swings or sags; None where that makes no characters of it either.

    The unit is the mean over the characters; their pace is that against it.
    """
    unit_s, _, frames, instants = fit_unit(line, unit_s, elements, follow_frames)
    if not frames.start.size:
        return None
    pace = _refined(frames, instants, unit_s)
    middle = float(pace.mean())
    return unit_s * middle, replace(frames, pace=pace / middle), instants


def _refined(frames: Frames, instants: Instants, unit_s: float) -> FloatArray:
    """Return the pace between the steps that were tried, (n,): by regression over each character and its neighbours."""
    k, n = instants.boundary.astype(float), frames.pace.size
    late = instants.elapsed_s / unit_s - k * frames.pace[instants.frame]
    offsets = measured_offsets(replace(instants, elapsed_s=(late + k) * unit_s), unit_s)
    late = np.where(instants.chatter, 0.0, late - np.where(instants.to_mark, offsets.to_mark, offsets.to_space))
    use = (np.abs(late) < 4 * PACE_STEP * k) & ~instants.chatter
    # a character counts twice what its neighbours do
    over, under = (
        np.convolve(np.bincount(instants.frame[use], w[use], minlength=n), (1, 2, 1), "same") for w in (late * k, k * k)
    )
    return np.asarray(frames.pace + np.where(under > 0, over / np.maximum(under, 1.0), 0.0))


def _regress(instants: Instants, unit_s: float) -> float:
    """Slope over k with an intercept for each direction; outliers trimmed; held to three per cent of the guess."""
    k, y = instants.boundary.astype(float), instants.elapsed_s / unit_s
    design = np.column_stack((instants.to_mark, ~instants.to_mark, k)).astype(float)
    keep = ~instants.chatter
    slope = 1.0
    for _ in range(3):
        if np.linalg.matrix_rank(design[keep]) < 3:
            return unit_s
        found, *_ = np.linalg.lstsq(design[keep], y[keep], rcond=None)
        slope = float(found[2])
        off = np.abs(y - design @ found)
        keep = ~instants.chatter & (off <= max(4 * float(np.median(off[keep])) * 1.48, 1e-6))
    return unit_s * float(np.clip(slope, 0.97, 1.03))


def _misfit(sample: RawEdges, unit_s: float, mark_is_high: bool, elements: int, usual: tuple[float, ...]) -> float:
    """Mean cost of a transition with this unit, plus a little for bias, loose pauses and an unusual speed."""
    line = find_transitions(sample, mark_is_high=mark_is_high, settling_s=settling_s(unit_s))
    if not line.first_s.size or line.to_mark.all():
        return float("inf")
    frames = find_frames(line, unit_s, elements=elements)
    if not frames.start.size:
        return WORST_MISFIT
    offsets = measured_offsets(find_instants(line, frames, unit_s), unit_s)
    if max(abs(offsets.to_mark), abs(offsets.to_space)) > SHARPER_UNITS:
        frames = find_frames(line, unit_s, offsets=offsets, elements=elements)
    misfit = frames.cost + BIAS_MISFIT * (offsets.to_mark**2 + offsets.to_space**2) + _loose(frames, unit_s, elements)
    misfit += 0.5 * float(np.count_nonzero(line.chatter(unit_s))) / line.first_s.size
    nearest = min(abs(np.log(unit_s * baud)) for baud in usual)
    return misfit + UNUSUAL * min(float(nearest) / 0.06, 1.0)


def _loose(frames: Frames, unit_s: float, elements: int) -> float:
    """Return what a steady stream costs whose characters do not follow each other with a usual stop."""
    stops = np.diff(frames.start_s) / unit_s - (elements + 1)
    stops.sort()
    quarter, half, most = (stops[int(share * (stops.size - 1))] if stops.size else 0.0 for share in (0.25, 0.5, 0.75))
    if stops.size < 4 or most - quarter > 0.2:
        return 0.0
    return 0.0 if SHORTEST_STOP < half < LONGEST_STOP else LOOSE


def _sample(edges: RawEdges, mark_is_high: bool, length: int) -> RawEdges:
    """Cut a few stretches out of a long recording and set them one after another, at rest between them."""
    n = edges.times_s.size
    if n <= STRETCHES * length:
        return edges
    times, levels, u, at = [], [], [], 0.0
    to_space = int(edges.level_after[0] == mark_is_high)  # number of the first edge that goes to space
    for first in np.linspace(0, n - length - 2, STRETCHES).astype(int) // 2 * 2 + to_space:
        part = slice(first, first + length // 2 * 2)
        times.append(edges.times_s[part] - edges.times_s[first] + at + REST_S)
        levels.append(edges.level_after[part])
        u.append(edges.u_s[part])
        at = float(times[-1][-1])
    return RawEdges(np.concatenate(times), np.concatenate(levels), np.concatenate(u), mark_is_high, 0.0, at + REST_S)


def _spread(low: float, high: float, step: float) -> FloatArray:
    return np.geomspace(low, high, max(2, int(np.ceil(np.log(high / low) / np.log(step))) + 1))


def _middle(values: FloatArray) -> float:
    return float(np.clip(np.sort(values)[values.size // 2], -0.45, 0.45)) if values.size else 0.0
