r"""The current's rise, fitted: inductance before and after, and the instant the armature landed.

Picture (y = i / I; the flux linkage L i grows without a jump, so i dips while L grows):

    y  1 |                          ______-----
         |          .-.       ___---        L2: exponential again
         |        .     .  .-
         |      .         V  <- t_L: landing, L stops growing at once, the slope jumps up
         |    /  L1
       0 |___/
            t0       t_m

With z = (L / R) y / ... the loop's law V = R i + d(L i)/dt reads  z' = 1 - z / T(t),  y = z / T(t),  T = L / R.
T is T1 up to t_m and T2 from t_L on. In between 1/T falls as a power of time: the reluctance of a gap is
proportional to the gap, and a falling armature speeds up.
All samples of one closing decide together (least squares). The motion is no power of time, so the landing comes out a
little late or early: this tells whether something landed and about when. landings.py tells when.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tapewright.coil.coil_recording import FloatArray

GRID = np.linspace(0.0, 1.0, 61)
#: what is known of the power before any data: about 2 for a steady acceleration, 3 for one that grows evenly, 10 and
#: more where the pull runs away; so 5 within a factor of 1.6 (one standard deviation of its logarithm)
POWER, POWER_SPREAD = 5.0, 0.5
MOST_STEPS = 60
#: a step that betters chi squared by less than this is the last
ENOUGH = 0.01
MOVED_NAMES = ("t0", "level", "T1", "T2", "landing", "travel", "power")
LEVEL, T1, T2, LANDING, TRAVEL = 1, 2, 3, 4, 5
STUCK_NAMES = ("t0", "level", "T1")


def stuck_current(times_s: FloatArray, t0: float, level: float, t1: float) -> FloatArray:
    """Return the current of a coil whose armature does not move, shape (n,)."""
    return np.asarray(level * -np.expm1(-np.clip(times_s - t0, 0.0, None) / t1))


def moved_current(times_s: FloatArray, parameters: FloatArray) -> FloatArray:
    """Return the current of a coil whose armature lands, shape (n,).

    Args:
        times_s: shape (n,).
        parameters: MOVED_NAMES; landing is the time from t0, travel the time the motion takes.
    """
    t0, level, t1, t2, landing, travel, power = (float(p) for p in parameters[:7])
    begin = landing - travel
    y = -np.expm1(-np.clip(times_s - t0, 0.0, None) / t1)
    start = t1 * -np.expm1(-begin / t1)
    y_at = _stretch(y, times_s - t0, begin, travel, start, 1 / (1 / t1 + (1 / t2 - 1 / t1) * GRID**power))
    later = times_s - t0 >= landing
    y[later] = 1 - (1 - y_at) * np.exp(-(times_s[later] - t0 - landing) / t2)
    return np.asarray(level * y)


def _stretch(y: FloatArray, times: FloatArray, begin: float, length: float, z: float, t_grid: FloatArray) -> float:
    """Solve z' = 1 - z / T over one stretch on the grid, write y there, give y at its end."""
    step = length * (GRID[1] - GRID[0])
    inverse = 1 / t_grid
    lost = np.concatenate([[0.0], np.cumsum((inverse[1:] + inverse[:-1]) / 2 * step)])
    grown = np.exp(lost)
    gained = np.concatenate([[0.0], np.cumsum((grown[1:] + grown[:-1]) / 2 * step)])
    path = (z + gained) / grown
    inside = (times >= begin) & (times < begin + length)
    y[inside] = np.interp(times[inside], begin + length * GRID, path / t_grid)
    return float(path[-1] / t_grid[-1])


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """Parameters with their covariance.

    Attributes:
        values: shape (p,).
        covariance: shape (p, p).
        chi2: sum of squared residuals over noise squared.
        n: number of samples.
        miss_a: shape (n,), model less current.
    """

    values: FloatArray
    covariance: FloatArray
    chi2: float
    n: int
    miss_a: FloatArray

    def u(self, index: int) -> float:
        """Return the standard uncertainty of one parameter."""
        return float(np.sqrt(max(self.covariance[index, index], 0.0)))

    @property
    def reduced(self) -> float:
        """Chi squared per degree of freedom; about 1 when the model fits."""
        return self.chi2 / max(self.n - self.values.size, 1)

    def beyond(self, white_a: float, coarse_a: float) -> float:
        """Return chi squared of what an error of at most `coarse_a`, of whatever shape, does not explain."""
        # least squares do not make the largest miss least: a quarter of the step beyond it says nothing
        sigma = max(white_a, coarse_a / 4)
        return float(((np.maximum(np.abs(self.miss_a) - coarse_a, 0.0) / sigma) ** 2).sum())


def fit_stuck(times_s: FloatArray, current_a: FloatArray, noise_a: float, start: FloatArray) -> Fit:
    """Fit a coil whose armature does not move; start = STUCK_NAMES."""
    scale = np.array([start[2], start[1], start[2]])

    def miss(p: FloatArray) -> FloatArray:
        return (stuck_current(times_s, *(float(x) for x in p * scale)) - current_a) / noise_a

    low, high = (start - np.array([3, 0.9, 0.95]) * scale) / scale, (start + np.array([3, 2, 20]) * scale) / scale
    return _solve(miss, start / scale, low, high, scale, noise_a, times_s.size)


def fit_moved(times_s: FloatArray, current_a: FloatArray, noise_a: float, start: FloatArray) -> Fit:
    """Fit a coil whose armature lands; start = MOVED_NAMES."""
    t1 = start[2]
    scale = np.array([t1, start[1], t1, t1, t1, t1, 1.0])
    low = np.array([start[0] - 2 * t1, 0.3 * start[1], 0.15 * t1, 0.15 * t1, 0.02 * t1, 0.01 * t1, 1.0])
    high = np.array([start[0] + 2 * t1, 3 * start[1], 6 * t1, 12 * t1, times_s[-1], times_s[-1], 12.0])
    low, high = low / scale, high / scale

    def miss(p: FloatArray) -> FloatArray:
        q = p * scale
        q[5] = min(q[5], q[4])
        model = moved_current(times_s, q)
        return np.append((model - current_a) / noise_a, np.log(max(q[6], 1e-3) / POWER) / POWER_SPREAD)

    found = _solve(miss, start / scale, low, high, scale, noise_a, times_s.size)
    # a motion cannot have begun before the switch closed
    found.values[5] = min(found.values[5], found.values[4])
    return found


def second_order_current(times_s: FloatArray, parameters: FloatArray) -> FloatArray:
    """Return the current of a coil at rest with one more store of energy beside it, shape (n,).

    level (1 + z1 s + z2 s^2) / (1 + b1 s + b2 s^2): a capacitor across the coil or the contact, seen from either side
    of it, or iron with one eddy-current path.
    """
    t0, level, b1, b2, z1, z2 = (float(p) for p in parameters)
    t = np.clip(times_s - t0, 0.0, None)
    root = np.sqrt(complex(b1 * b1 - 4 * b2))
    out = np.full(t.size, 1.0 + 0j)
    for pole in ((-b1 + root) / (2 * b2), (-b1 - root) / (2 * b2)):
        out += (1 + z1 * pole + z2 * pole**2) / (pole * (b1 + 2 * b2 * pole)) * np.exp(pole * t)
    out[times_s < t0] = 0
    return np.asarray(level * out.real)


def fit_second_order(times_s: FloatArray, current_a: FloatArray, noise_a: float, stuck: Fit) -> Fit:
    """Fit a coil that stands still beside a capacitor or in thick iron, from the fit without them."""
    t0, level, tau = stuck.values
    scale = np.array([tau, level, tau, tau**2, tau, tau**2])
    low = np.array([t0 / tau - 2, 0.3, 0.02, 1e-5, -1.0, 0.0])
    high = np.array([t0 / tau + 2, 3.0, 8.0, 20.0, 6.0, 10.0])

    def miss(p: FloatArray) -> FloatArray:
        return (second_order_current(times_s, p * scale) - current_a) / noise_a

    # thick iron; a capacitor that rings; one seen from the supply's side
    starts = ((1.1, 0.08, 0.05, 0.0), (0.6, 0.6, 0.02, 0.0), (1.05, 0.05, 0.1, 0.03))
    fits = [_solve(miss, np.array([t0 / tau, 1.0, *one]), low, high, scale, noise_a, times_s.size) for one in starts]
    return min(fits, key=lambda fit: fit.chi2)


def _solve(
    miss: Callable[[FloatArray], FloatArray],
    start: FloatArray,
    low: FloatArray,
    high: FloatArray,
    scale: FloatArray,
    noise_a: float,
    n: int,
) -> Fit:
    """Least squares by Levenberg's and Marquardt's method within bounds, on the small normal equations."""
    point = np.clip(start, low + 1e-6 * (high - low), high - 1e-6 * (high - low))
    residual = miss(point)
    cost, damping = float(residual @ residual), 1e-2
    normal = np.eye(point.size)
    for _ in range(MOST_STEPS):
        slope = _slopes(miss, point, residual, high)
        normal, downhill = slope.T @ slope, -slope.T @ residual
        before = cost
        while damping < 1e9:
            stiff = normal + damping * np.diag(np.diag(normal) + 1e-12)
            trial = np.clip(point + np.linalg.solve(stiff, downhill), low, high)
            ahead = miss(trial)
            new = float(ahead @ ahead)
            if new < cost:
                point, residual, cost, damping = trial, ahead, new, damping / 5
                break
            damping *= 4
        if before - cost < ENOUGH * max(1.0, before * 1e-4):
            break
    covariance = np.linalg.pinv(normal, rcond=1e-12, hermitian=True) * np.outer(scale, scale)
    return Fit(point * scale, covariance, cost, n, residual[:n] * noise_a)


def _slopes(
    miss: Callable[[FloatArray], FloatArray], point: FloatArray, residual: FloatArray, high: FloatArray
) -> FloatArray:
    slope = np.empty((residual.size, point.size))
    for index in range(point.size):
        step = 1e-5 * max(1.0, abs(point[index]))
        moved = point.copy()
        moved[index] += -step if point[index] + step > high[index] else step
        slope[:, index] = (miss(moved) - residual) / (moved[index] - point[index])
    return slope
