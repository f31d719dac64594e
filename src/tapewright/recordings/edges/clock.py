r"""When samples were taken.

From the number of a sample to seconds: by the sample rate, or by the time written beside each sample.

The smallest step of printed times, seen from the times themselves.

Is the time written beside the samples regular? Steps, repeats and backward jumps in it are evidence.

Picture: time against the number of the sample

    time |            /        a step up: samples were dropped
         |          _/         a flat piece: the same time written twice
         |   ______/
         |  /
         | /
         +-------------- sample

A column is regular when nearly all steps are alike, but for the rounding of the printed digits; then the straight
line between two steps is a better clock than the digits.
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
import numpy.typing as npt

from tapewright.recordings.capture import Suspicion

FloatArray = npt.NDArray[np.float64]


class Clock(Protocol):
    """Something that knows when a sample was taken."""

    def seconds(self, at: FloatArray) -> FloatArray:
        """Return the time of sample numbers, shape (n,); fractions lie between two samples."""

    def intervals_s(self, at: FloatArray) -> FloatArray:
        """Return the interval between the two samples about each, in seconds."""


@dataclass(frozen=True, slots=True)
class RegularClock:
    """Sample k was taken at begin_s + k interval_s."""

    interval_s: float
    begin_s: float = 0.0

    def seconds(self, at: FloatArray) -> FloatArray:
        """Return the time of sample numbers."""
        return self.begin_s + at * self.interval_s

    def intervals_s(self, at: FloatArray) -> FloatArray:
        """Return the one interval, once for each."""
        return np.full(at.shape, self.interval_s)


@dataclass(frozen=True, slots=True, eq=False)
class KnottedClock:
    """Samples at known times at some places (the knots), regular between them.

    Attributes:
        samples: shape (k,), sample numbers of the knots, increasing, k at least 2.
        times_s: shape (k,), their times.
    """

    samples: FloatArray
    times_s: FloatArray

    def seconds(self, at: FloatArray) -> FloatArray:
        """Return the time of sample numbers, along the straight line between the two knots about each."""
        return np.interp(at, self.samples, self.times_s)

    def intervals_s(self, at: FloatArray) -> FloatArray:
        """Return the slope of that line."""
        after = np.clip(np.searchsorted(self.samples, at, side="left"), 1, self.samples.size - 1)
        rise = self.times_s[after] - self.times_s[after - 1]
        return np.abs(rise / (self.samples[after] - self.samples[after - 1]))


def decimal_quantum(times: npt.NDArray[np.float64]) -> float:
    """Return the power of ten that all of `times`, shape (n,), are whole multiples of; 0 when there is none.

    Times computed in binary floating point and not printed have none.
    """
    finite = times[np.isfinite(times)]
    some = np.abs(finite[:: max(1, finite.size // 500)])
    if not some.size or not some.max() > 0:
        return 0.0
    for digits in range(0, 13):
        scaled = some * 10.0**digits
        if scaled.max() > 2.0**52:
            break
        if (np.abs(scaled - np.round(scaled)) <= 1e-9 * np.maximum(1.0, scaled)).all():
            return float(10.0**-digits)
    return 0.0


#: steps may differ from the usual one by this part and still be regular
STEP_TOLERANCE = 0.02
#: share of the steps that must be regular
REGULAR_SHARE = 0.95
#: intervals that a recorder can have
SHORTEST_S, LONGEST_S = 1e-13, 100.0
#: knots kept, at the most; a column with more is irregular
MOST_KNOTS = 1_000_000


@dataclass(frozen=True, slots=True, eq=False)
class TimeFound:
    """What a column of times is.

    Attributes:
        clock: None when the column is irregular, so that each written time must be used itself.
        missing: shape (k, 2), seconds between which samples were dropped.
        suspicions: what is odd.
    """

    clock: Clock | None
    missing: FloatArray
    suspicions: tuple[Suspicion, ...]


class TimeSurvey:
    """Feed the column in pieces; ask at the end what it is.

    Args:
        quantum_s: the smallest step of the printed digits, in seconds; 0 when not known.
    """

    def __init__(self, quantum_s: float = 0.0) -> None:
        self.quantum_s = quantum_s
        self.count = 0
        self.first = self.last = np.nan
        self.repeated = self.backwards = 0
        self._step: float | None = None
        self._odd = 0
        self._bent = False
        self._knots: list[tuple[float, float]] = []
        self._gaps: list[tuple[float, float]] = []
        self._first_repeat = self._first_backward = np.nan
        self._coarse_fit = 0.0

    def feed(self, times_s: FloatArray) -> None:
        """Take the next piece, shape (n,), finite."""
        if not times_s.size:
            return
        if self.count == 0:
            self.first = float(times_s[0])
        else:
            times_s = np.concatenate([[self.last], times_s])
        steps = np.diff(times_s)
        start = max(0, self.count - 1)
        if steps.size:
            self._take_steps(times_s, steps, start)
        self.last = float(times_s[-1])
        self.count = start + times_s.size
        if len(self._knots) < MOST_KNOTS:
            self._knots.append((float(self.count - 1), self.last))

    def _take_steps(self, times_s: FloatArray, steps: FloatArray, start: int) -> None:
        if self._step is None:
            forward = steps[steps > 0]
            self._step = float(np.median(forward)) if forward.size else 0.0
        step = self._step
        chord = np.linspace(times_s[0], times_s[-1], times_s.size)
        off = float(np.abs(times_s - chord).max())
        self._coarse_fit = max(self._coarse_fit, off)
        backwards, same = np.flatnonzero(steps < 0), np.flatnonzero(steps == 0)
        if backwards.size and not self.backwards:
            self._first_backward = float(times_s[backwards[0] + 1])
        if same.size and not self.repeated:
            self._first_repeat = float(times_s[same[0]])
        self.backwards += backwards.size
        self.repeated += same.size
        odd = np.flatnonzero(np.abs(steps - step) > max(STEP_TOLERANCE * step, 1.01 * self.quantum_s))
        self._odd += odd.size
        for k in odd[: max(0, MOST_KNOTS - len(self._knots))].tolist():
            self._knots += [(float(start + k), float(times_s[k])), (float(start + k + 1), float(times_s[k + 1]))]
            if steps[k] > 1.5 * step:
                self._gaps.append((float(times_s[k]), float(times_s[k + 1])))
        if not odd.size and off > max(2 * self.quantum_s, 0.1 * step):
            self._bent = True

    def found(self) -> TimeFound:
        """Say what the column is."""
        if self.count < 2 or not self._step:
            return TimeFound(None, np.empty((0, 2)), ())
        span = self.last - self.first
        mean = span / (self.count - 1)
        if not SHORTEST_S < mean < LONGEST_S:
            return TimeFound(None, np.empty((0, 2)), self._orderly())
        if span > 0 and self.quantum_s >= 0.5 * mean and self._coarse_fit <= 2 * self.quantum_s:
            said = self._coarse(mean)
            return TimeFound(RegularClock(mean, self.first), np.empty((0, 2)), said)
        regular = self._odd <= (1 - REGULAR_SHARE) * (self.count - 1) and not self._bent
        if not regular or len(self._knots) >= MOST_KNOTS:
            return TimeFound(None, np.empty((0, 2)), self._orderly())
        knots = np.array(sorted({(0.0, self.first), *self._knots}))
        off = np.abs(self.first + knots[:, 0] * mean - knots[:, 1]).max()
        if not self._odd and off <= max(2 * self.quantum_s, 0.1 * mean):
            return TimeFound(RegularClock(mean, self.first), np.empty((0, 2)), ())
        gaps = np.array(self._gaps).reshape(-1, 2)
        return TimeFound(KnottedClock(knots[:, 0], knots[:, 1]), gaps, (*self._orderly(), *self._dropped(gaps)))

    def _coarse(self, mean: float) -> tuple[Suspicion, ...]:
        if not self.repeated:
            return ()
        evidence = (
            f"time is written to {self.quantum_s:.3g} s, coarser than the mean interval of {mean:.3g} s; "
            f"{self.repeated} rows repeat the time before, and the mean interval was used"
        )
        return (Suspicion("repeated timestamps", evidence, "Export with more digits of time."),)

    def _orderly(self) -> tuple[Suspicion, ...]:
        said = []
        if self.backwards:
            evidence = f"{self.backwards} of {self.count - 1} steps, first to {self._first_backward:.6g} s"
            do = "Record again; until then trust no instant near the places named."
            said.append(Suspicion("time runs backwards", evidence, do))
        if self.repeated:
            evidence = f"{self.repeated} of {self.count - 1} steps, first at {self._first_repeat:.6g} s"
            said.append(Suspicion("repeated timestamps", evidence, "Export with more digits of time."))
        return tuple(said)

    def _dropped(self, gaps: FloatArray) -> tuple[Suspicion, ...]:
        if not gaps.size or not self._step:
            return ()
        lost = int(np.round((gaps[:, 1] - gaps[:, 0]) / self._step - 1).sum())
        evidence = (
            f"{gaps.shape[0]} steps of more than one interval of {self._step:.3g} s, about {lost} samples in all, "
            f"first at {gaps[0, 0]:.6g} s"
        )
        do = "Record again at a lower rate or to a faster disk; characters across a gap are not judged."
        return (Suspicion("dropped samples", evidence, do),)
