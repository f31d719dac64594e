r"""Adjusters of the practice machine: screws and readings with a known truth.

Picture (what a turn does, truth):

    screw --> [play: the part stands still for a while after a reversal] --> part
    part  --> [reading = base + slopes . way + bends . way^2 / 2]  --> truth
    truth --> [gauge: noise, then steps of 0.02 mm seen as an interval] --> what the restorer writes down

Every random draw comes from a generator that the caller seeds.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class AdjusterTruth:
    """The truth of one mechanism with K screws and J readings.

    Attributes:
        base: shape (J,), readings with every part at zero.
        slopes: shape (J, K), reading per screw unit.
        bends: shape (J, K), change of slope per screw unit.
        play: shape (K,), free play, screw units.
        noise: shape (J,), standard deviation of a reading.
        gauge_step: steps the gauge knows, in reading units; 0 for a gauge that gives numbers.
        lock_shift: shape (J,), standard deviation of what locking moves.
    """

    base: FloatArray
    slopes: FloatArray
    bends: FloatArray
    play: FloatArray
    noise: FloatArray
    gauge_step: float
    lock_shift: FloatArray


class Adjusters:
    """A mechanism in one's hands: turn, look."""

    def __init__(self, truth: AdjusterTruth, rng: np.random.Generator, start: FloatArray | None = None) -> None:
        K = truth.slopes.shape[1]
        self.truth, self._rng = truth, rng
        self.screws: FloatArray = np.zeros(K) if start is None else np.array(start, dtype=float)
        # nobody knows on which side of its play a part was left
        self._parts = self.screws + truth.play * rng.uniform(-0.5, 0.5, K)
        self._locked_at = truth.lock_shift * rng.standard_normal(len(truth.base))

    def turn(self, change: FloatArray) -> None:
        """Turn every screw by `change`; a part follows only when its play is used up."""
        self.screws = self.screws + change
        half = self.truth.play / 2
        self._parts = np.minimum(np.maximum(self._parts, self.screws - half), self.screws + half)
        self._locked_at = self.truth.lock_shift * self._rng.standard_normal(len(self.truth.base))

    def true_readings(self) -> FloatArray:
        """The truth, shape (J,), which no gauge tells."""
        truth = self.truth
        return truth.base + truth.slopes @ self._parts + truth.bends @ (self._parts**2) / 2 + self._locked_at

    def look(self) -> list[tuple[float, float]]:
        """Read every gauge: (low, high) each; the two are equal when the gauge gives a number."""
        seen = self.true_readings() + self.truth.noise * self._rng.standard_normal(len(self.truth.base))
        step = self.truth.gauge_step
        if step <= 0:
            return [(float(v), float(v)) for v in seen]
        lower = np.floor(seen / step)
        return [(float(round(n * step, 9)), float(round((n + 1) * step, 9))) for n in lower]


@dataclass(frozen=True, slots=True, eq=False)
class Mechanism:
    """A mechanism out of adjustment, with what its sheet says of it.

    Attributes:
        truth: what nobody knows.
        low, high: shape (J,), limits.
        step_limit: shape (K,), screw units.
        stated_play: shape (K,); stated_u: shape (J,): what the sheet says of play and of the gauges.
    """

    truth: AdjusterTruth
    low: FloatArray
    high: FloatArray
    step_limit: FloatArray
    stated_play: FloatArray
    stated_u: FloatArray

    def inside(self, readings: FloatArray) -> bool:
        """Return whether true readings, shape (J,), all lie within the limits."""
        return bool(np.all((self.low <= readings) & (readings <= self.high)))


def random_mechanism(
    rng: np.random.Generator,
    screws: int = 2,
    readings: int = 2,
    *,
    away_steps: float = 1.2,
    bend: float = 0.1,
    play: float = 0.04,
    noise: float = 0.03,
    gauge_step: float = 0.02,
    cross: tuple[float, float] = (0.2, 1.5),
) -> Mechanism:
    """Make a mechanism that can be set right, but is not.

    A whole step of a screw moves its own reading by one to four widths of its limits, the others by `cross`.
    `away_steps` is how far the right setting lies, `bend` the share by which a slope changes over a step,
    `play` in steps, `noise` in widths of the limits, `gauge_step` in reading units (0: numbers).
    """
    K, J = screws, readings
    width = rng.uniform(0.06, 0.12, J)
    step = rng.choice([0.25, 0.5, 1.0], K)
    per_step = _couplings(rng, K, J, cross) * width[:, None]
    solution = rng.uniform(-away_steps, away_steps, K)
    curved = bend * per_step * rng.uniform(-1, 1, (J, K))
    right = per_step @ solution + curved @ solution**2 / 2
    middle = rng.uniform(0.2, 0.8, J)
    low = middle - width * rng.uniform(0.3, 0.7, J)
    if gauge_step > 0:
        low = np.round(low / gauge_step) * gauge_step
    truth = AdjusterTruth(
        base=middle - right,
        slopes=per_step / step,
        bends=curved / step**2,
        play=play * step * rng.uniform(0.3, 1.2, K),
        noise=noise * width * rng.uniform(0.5, 1.5, J),
        gauge_step=gauge_step,
        lock_shift=np.zeros(J),
    )
    high = low + (np.ceil(width / gauge_step) * gauge_step if gauge_step > 0 else width)
    return Mechanism(truth, low, high, step, play * step, np.maximum(noise * width, gauge_step / np.sqrt(12)))


def _couplings(rng: np.random.Generator, K: int, J: int, cross: tuple[float, float]) -> FloatArray:
    """Draw what a step does, in widths, (J, K): each screw has a reading of its own, and disturbs the others."""
    while True:
        size = np.exp(rng.uniform(np.log(cross[0]), np.log(cross[1]), (J, K)))
        for j in range(J):
            size[j, j % K] = np.exp(rng.uniform(np.log(1.0), np.log(4.0)))
        drawn = size * rng.choice([-1, 1], (J, K))
        unit = drawn / np.linalg.norm(drawn, axis=0)
        if np.linalg.svd(unit, compute_uv=False)[min(J, K) - 1] > 0.25 or J < K:
            return np.asarray(drawn)


#: Petrel's punch travel: a screw for how low and a screw for how high, each disturbing the other. Invented.
PETREL_PUNCH_TRAVEL = AdjusterTruth(
    base=np.array([0.425, 0.475]),
    slopes=np.array([[-0.43, 0.18], [0.14, 0.31]]),
    bends=np.array([[0.04, 0.01], [-0.01, -0.05]]),
    play=np.array([0.02, 0.02]),
    noise=np.array([0.003, 0.003]),
    gauge_step=0.02,
    lock_shift=np.zeros(2),
)
