r"""Is there AC coupling, and which? Try couplings, restore the levels with each, keep the one that leaves least over.

What is left over is recorded minus forecast, away from the edges: noise, hum and whatever the model does not
explain. A corner is tried on a coarse grid first, then refined by least squares (Gauss-Newton in the logarithm of
corner and damping; height and offset enter linearly and are solved for exactly each time). Flat levels are among
the models: sound from a DC-coupled input is left as it is.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import Samples
from tapewright.recordings.edges.coupling import Coupling, first_order, no_coupling, response, second_order
from tapewright.recordings.edges.levels import TOO_MUCH
from tapewright.recordings.edges.restored import RestoreStream

FloatArray = npt.NDArray[np.float64]

#: tried first: corners in hertz of first order, and of second order with little damping
CORNERS_HZ = (0.15, 0.5, 1.5, 4.0, 9.0, 18.0, 35.0, 60.0)
SECOND_CORNERS_HZ = (0.5, 1.5, 4.0, 9.0, 18.0, 35.0)
#: seconds about a step in which the model need not fit: the step is not infinitely steep
ABOUT_A_STEP_S = 0.0006
#: samples a second are enough to see a droop
FIT_RATE_HZ = 1000
#: a coupling must explain this much more than flat levels do (ratio of what is left over, as variances)
FLAT_IS_WORSE_BY = 1.3
SECOND_IS_BETTER_BY = 1.1
FEWEST_STEPS = 6
#: with steps in more of the blocks than this it is no line: noise, or something far faster
MOST_BLOCKS_WITH_STEPS = 0.8
#: seconds of signal that are enough for a first choice
FIRST_CHOICE_S = 3.0
#: times a step may take, tried in turn
RISES_S = (0.0001, 0.0006, 0.002, 0.005)


@dataclass(frozen=True, slots=True, eq=False)
class CouplingFound:
    """How AC-coupled samples came to be.

    Attributes:
        coupling: the high-pass.
        step: height of a step of the line, in the units of the samples.
        offset: what the samples are in idle.
        noise: standard deviation of what is left over.
        rails: lowest and highest sample the recorder can give; infinite when it did not clip.
        flat_noise: what flat levels would have left over.
    """

    coupling: Coupling
    step: float
    offset: float
    noise: float
    rails: tuple[float, float]
    flat_noise: float

    def stream(self, rate_hz: float, starts_high: bool | None) -> RestoreStream:
        """Make a stream that restores the levels."""
        return RestoreStream(
            self.coupling,
            step=self.step,
            offset=self.offset,
            rate_hz=rate_hz,
            starts_high=starts_high,
            rails=self.rails,
        )


@dataclass(slots=True)
class _Fit:
    coupling: Coupling
    step: float
    offset: float
    left_over: float
    near_s: float = 0.0


def find_coupling(samples: Samples, rate_hz: float) -> CouplingFound | None:
    """Find the coupling from some lively samples, shape (n,); None when levels are flat or no step is seen."""
    if not (np.abs(samples.astype(np.float64)) < TOO_MUCH).all():
        return None
    y = samples.astype(np.float64)
    seen = step_height(y, rate_hz)
    if seen is None:
        return None
    height, rise_s, first = seen
    rails = find_rails(y)
    start = _Fit(no_coupling(), height, float(np.median(y)), np.inf, max(ABOUT_A_STEP_S, 4 * rise_s))
    some = y[first : first + round(FIRST_CHOICE_S * rate_hz)]
    flat = _try(some, rate_hz, start, rails)
    couplings = [first_order(f) for f in CORNERS_HZ] + [second_order(f, 0.7) for f in SECOND_CORNERS_HZ]
    fits = [_try(some, rate_hz, replace(start, coupling=coupling), rails) for coupling in couplings]
    found = [fit for fit in fits if fit is not None]
    if not found:
        return None
    best = min(found, key=lambda fit: fit.left_over)
    if flat is not None and flat.left_over < best.left_over:
        return None
    best = _refine(y, rate_hz, best, rails)
    flat = _try(y, rate_hz, start, rails)
    flat_noise = flat.left_over if flat is not None else np.inf
    if flat_noise**2 < FLAT_IS_WORSE_BY * best.left_over**2:
        return None
    return CouplingFound(best.coupling, best.step, best.offset, best.left_over, rails, flat_noise)


def step_height(y: FloatArray, rate_hz: float) -> tuple[float, float, int] | None:
    """Return the height of a step, the time it takes, and where the first one is; None when nothing stands out.

    The height is the largest difference over a short time in each 4 ms, and of those that stand out the ninth in ten:
    clipping can only make a step look smaller. When a longer time shows much higher steps, the edges are slow.
    """
    quick: tuple[float, float, int] | None = None
    for rise_s in RISES_S:
        found = _largest_differences(y, rate_hz, rise_s)
        if found is not None and (quick is None or found[0] > 1.25 * quick[0]):
            quick = (found[0], rise_s, found[1])
    return quick


def _largest_differences(y: FloatArray, rate_hz: float, rise_s: float) -> tuple[float, int] | None:
    w = max(2, round(0.00015 * rate_hz))
    gap = max(1, round(rise_s * rate_hz))
    block = max(4, round(0.004 * rate_hz))
    if y.size < 25 * block:
        return None
    total = np.concatenate([[0.0], np.cumsum(y - y.mean())])
    mean = (total[w:] - total[:-w]) / w
    jump = np.abs(mean[w + gap :] - mean[: -w - gap])
    blocks = jump.size // block
    most = jump[: blocks * block].reshape(blocks, block).max(axis=1)
    top = float(np.quantile(most, 1 - min(0.02, 5 / blocks)))
    steps = most[most > top / 2]
    # a line rests between its steps, at 110 baud for two 4 ms blocks in three
    if not FEWEST_STEPS <= steps.size <= MOST_BLOCKS_WITH_STEPS * blocks:
        return None
    quiet = float(np.median(most[most <= top / 2])) if (most <= top / 2).any() else 0.0
    height = float(np.quantile(steps, 0.9))
    if height <= 3 * quiet:
        return None
    first = int(np.argmax(most > top / 2)) * block
    return height, max(0, first - round(0.05 * rate_hz))


def find_rails(y: FloatArray) -> tuple[float, float]:
    """Return the levels at which the recording clips: extremes that many samples share exactly."""
    low, high = float(y.min()), float(y.max())
    enough = max(5, y.size // 2000)
    at_low, at_high = np.count_nonzero(y == low) >= enough, np.count_nonzero(y == high) >= enough
    return (low if at_low else -np.inf), (high if at_high else np.inf)


def _try(y: FloatArray, rate_hz: float, start: _Fit, rails: tuple[float, float]) -> _Fit | None:
    """Restore with this coupling, then solve for height and offset; None when it finds too few steps.

    A step in the direction of the one before cannot be: each adds to what is left over.
    """
    found = _steps(y, rate_hz, start, rails)
    fit = None if found is None else _solve(y, rate_hz, start, found, rails)
    if fit is None or found is None:
        return None
    unpaired = float((found[1][1:] == found[1][:-1]).mean())
    return replace(fit, left_over=fit.left_over + unpaired * start.step)


def _steps(
    y: FloatArray, rate_hz: float, fit: _Fit, rails: tuple[float, float]
) -> tuple[FloatArray, FloatArray] | None:
    """Return instants (in samples) and signs of the steps; None when they are too few or too many to be a line."""
    stream = RestoreStream(
        fit.coupling, step=fit.step, offset=fit.offset, rate_hz=rate_hz, starts_high=None, rails=rails
    )
    # in short pieces, so that what is no line is given up after few of its steps
    for first in range(0, y.size, 1 << 11):
        stream.feed(y[first : first + (1 << 11)])
        if len(stream.steps_at) > 400 + 500 * (first + (1 << 11)) / rate_hz:
            return None
    if len(stream.steps_at) < FEWEST_STEPS:
        return None
    return np.array(stream.steps_at), np.where(stream.steps_up, 1.0, -1.0)


def _places(
    y: FloatArray, rate_hz: float, at: FloatArray, rails: tuple[float, float], near_s: float
) -> tuple[FloatArray, FloatArray] | None:
    """Return places, about FIT_RATE_HZ of them, and their samples: not near steps, not on the rails."""
    thin = max(1, round(rate_hz / FIT_RATE_HZ))
    places = np.arange(int(at[0]), y.size, thin).astype(np.float64)
    near = near_s * rate_hz
    after = np.searchsorted(at, places, side="right")
    clear = places - at[np.maximum(after - 1, 0)] > near
    clear &= np.append(at, np.inf)[after] - places > near
    values = y[places.astype(np.int64)]
    clear &= (values > rails[0]) & (values < rails[1])
    return (places[clear], values[clear]) if np.count_nonzero(clear) >= 50 else None


def _solve(
    y: FloatArray,
    rate_hz: float,
    start: _Fit,
    found: tuple[FloatArray, FloatArray],
    rails: tuple[float, float],
) -> _Fit | None:
    """Least squares for height and offset."""
    looked_at = _places(y, rate_hz, found[0], rails, start.near_s)
    if looked_at is None:
        return None
    solved, left = _project(start.coupling, found, looked_at, rate_hz)
    if solved[0] <= 0:
        return None
    return replace(start, step=float(solved[0]), offset=float(solved[1]), left_over=_rms(left))


def _project(
    coupling: Coupling, found: tuple[FloatArray, FloatArray], looked_at: tuple[FloatArray, FloatArray], rate_hz: float
) -> tuple[FloatArray, FloatArray]:
    """Solve for height, offset and what was before the first step; give them and what is left over."""
    at, signs = found
    places, values = looked_at
    shape = response(coupling, at, signs, places, rate_hz)
    before = response(coupling, at[:1], np.ones(1), places, rate_hz)
    columns = np.column_stack([shape, np.ones(places.size), before])
    # a little of the unit matrix: with no coupling, offset and what was before are one and the same
    normal = columns.T @ columns + 1e-9 * places.size * np.eye(3)
    solved = np.asarray(np.linalg.solve(normal, columns.T @ values), dtype=np.float64)
    return solved, values - columns @ solved


def _rms(values: FloatArray) -> float:
    return float(np.sqrt(np.mean(values**2)))


def _refine(y: FloatArray, rate_hz: float, best: _Fit, rails: tuple[float, float]) -> _Fit:
    """Refine corner, height and offset; try the other order; find the steps anew in between."""
    for last in (False, False, True):
        found = _steps(y, rate_hz, best, rails)
        looked_at = None if found is None else _places(y, rate_hz, found[0], rails, best.near_s)
        if found is None or looked_at is None:
            return best
        starts = [_parameters(best.coupling)]
        if last and best.coupling.order == 1:
            w = best.coupling.corner_hz
            starts += [np.log([0.8 * w, 0.7]), np.log([0.35 * w, 3.0])]
        elif last:
            # the one pole that explains most: the other may have been no more than the nearest of those tried first
            starts += [np.log([float(np.abs(best.coupling.poles_per_s).max()) / (2 * np.pi)])]
        fits = [_descend(best, found, looked_at, rate_hz, start) for start in starts]
        # a second pole must earn its keep
        best = min(fits, key=lambda fit: fit.left_over**2 * (SECOND_IS_BETTER_BY if fit.coupling.order == 2 else 1.0))
    return best


def _parameters(coupling: Coupling) -> FloatArray:
    """Return the logarithms of corner and, for second order, damping."""
    if coupling.order == 1:
        return np.log([coupling.corner_hz])
    w = np.sqrt(np.abs(np.prod(coupling.poles_per_s)))
    return np.log([w / (2 * np.pi), -coupling.poles_per_s.sum().real / (2 * w)])


def _made_of(parameters: FloatArray) -> Coupling:
    """Make the coupling of these logarithms, kept within what a recorder can be."""
    corner = float(np.exp(np.clip(parameters[0], np.log(0.02), np.log(300.0))))
    if parameters.size == 1:
        return first_order(corner)
    return second_order(corner, float(np.exp(np.clip(parameters[1], np.log(0.2), np.log(20.0)))))


def _descend(
    fit: _Fit,
    found: tuple[FloatArray, FloatArray],
    looked_at: tuple[FloatArray, FloatArray],
    rate_hz: float,
    start: FloatArray,
) -> _Fit:
    """Least squares by Gauss-Newton with damping (Levenberg-Marquardt), derivatives by differences."""
    here: FloatArray = start
    caution, width = 1e-3, 1e-3
    solved, left = _project(_made_of(here), found, looked_at, rate_hz)
    for _ in range(12):
        nearby = [_project(_made_of(here + width * axis), found, looked_at, rate_hz)[1] for axis in np.eye(here.size)]
        slopes: FloatArray = np.column_stack([(each - left) / width for each in nearby])
        normal = slopes.T @ slopes
        cautious = normal + caution * np.diag(np.diag(normal) + 1e-300)
        move = np.asarray(np.linalg.solve(cautious, -slopes.T @ left), dtype=np.float64)
        there = np.asarray(here + np.clip(move, -1.0, 1.0), dtype=np.float64)
        solved_there, left_there = _project(_made_of(there), found, looked_at, rate_hz)
        if _rms(left_there) < _rms(left):
            done = _rms(left_there) > 0.9999 * _rms(left)
            here, solved, left, caution = there, solved_there, left_there, caution / 5
            if done:
                break
        else:
            caution *= 10
            if caution > 1e3:
                break
    return replace(fit, coupling=_made_of(here), step=float(solved[0]), offset=float(solved[1]), left_over=_rms(left))
