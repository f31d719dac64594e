"""Flights fitted to the closings of a recording at once: one coil, and at each closing its instant and spring force.

Least squares by Levenberg's and Marquardt's method, several starts and kinds of coil side by side. After each linear
step the landings are put where the step wanted them, by the flight's scale and the spring force: of all that the
parameters do, the landing bends the most.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.coil.coil_recording import FloatArray
from tapewright.coil.flight import COUNT, LEVEL, LOG_SCALE, Flights, fly

MOST_STEPS = 40
#: a step that betters chi squared by less than this is small; after SMALL of them it is enough
ENOUGH, SMALL = 0.02, 2
#: a start that is this much worse than the best after so many steps is given up
HOPELESS, PATIENCE = 40.0, 8
LOST = 1e12
#: halving the steps may move a landing by this share of the flight
NOT_CONVERGED = 0.01
#: fewer samples round the landings than this count as so many
LEAST_NEAR = 8
#: how often the landings are put right after a step
ROUNDS = 1
#: a prior as narrow as this holds its parameter fixed
FIXED = 1e6
#: for difference quotients
NUDGE, NUDGE_SMALL = 1e-4, 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Samples:
    """The windows of some closings side by side, the shorter ones filled up with weight 0.

    Attributes:
        times_s: shape (c, m).
        current_a: shape (c, m).
        weights: shape (c, m), 1 / noise.
        heavier_u: shape (c,), how far the spring force of each may be from the others'.
    """

    times_s: FloatArray
    current_a: FloatArray
    weights: FloatArray
    heavier_u: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """One fit.

    Attributes:
        number: which of the starts it came from.
        values: shape (COUNT + 2 c,): the coil, the closings' instants, their spring forces.
        covariance: of them.
        chi2: sum of squared residuals over noise squared.
        cost: with what the priors add.
        flights_s: shape (c,), time under way.
        landings_s: shape (c,), from each closing.
        landings_cov_s2: shape (c, c).
        hops_s: shape (c,).
        near: chi squared a sample round the landings.
    """

    number: int
    values: FloatArray
    covariance: FloatArray
    chi2: float
    cost: float
    flights_s: FloatArray
    landings_s: FloatArray
    landings_cov_s2: FloatArray
    hops_s: FloatArray
    near: float

    @property
    def evidence(self) -> float:
        """Logarithm of the integral over the parameters, by Laplace, up to a constant."""
        return float(-self.cost / 2 + np.linalg.slogdet(self.covariance)[1] / 2)


@dataclass(slots=True, eq=False)
class Joint:
    """The closings, and the priors of each start.

    Attributes:
        samples: what is fitted.
        middles: shape (k, COUNT), the priors' middles.
        weights: shape (k, COUNT), 1 / variance.
    """

    samples: Samples
    middles: FloatArray
    weights: FloatArray

    @property
    def closings(self) -> int:
        """How many."""
        return int(self.samples.times_s.shape[0])

    def fit(self, values: FloatArray, flights_s: FloatArray) -> list[Fitted]:
        """Fit from some starts, shape (k, COUNT + 2 c), with the time under way about, shape (k, c)."""
        count, size = values.shape
        values, each = values.copy(), np.arange(count)
        chi2, cost, found = self._cost(values, flights_s, each)
        usable = cost < LOST
        flying = np.where(usable[:, None], found[1], flights_s)
        landings = found[0]
        normal, downhill = np.zeros((count, size, size)), np.zeros((count, size))
        moves = np.zeros((count, self.closings, size))
        damping, small, stale = np.full(count, 1e-2), np.zeros(count, dtype=int), np.ones(count, dtype=bool)
        live = usable.copy()
        for turn in range(MOST_STEPS):
            if not live.any():
                break
            which = each[live & stale]
            if which.size:
                normal[which], downhill[which], moves[which] = self._normal(values[which], flying[which], which)
                stale[which] = False
            which = each[live]
            step = _damped(normal[which], downhill[which], damping[which])
            wanted = landings[which] + np.einsum("kcd,kd->kc", moves[which], step)
            trial = self._bent(values[which] + step, flying[which], wanted, moves[which])
            chi2_there, ahead, there = self._cost(trial, flying[which], which)
            better = ahead < cost[which]
            alike = np.abs(cost[which] - ahead) < ENOUGH
            small[which] = np.where(alike, small[which] + 1, np.where(better, 0, small[which]))
            damping[which] *= np.where(better, 1 / 6, 6.0)
            damping = np.maximum(damping, 1e-9)
            now = which[better]
            values[now], cost[now], chi2[now] = trial[better], ahead[better], chi2_there[better]
            landings[now], flying[now], stale[now] = there[0][better], there[1][better], True
            live &= (small < SMALL) & (damping < 1e5)
            if turn >= PATIENCE:
                live &= cost < cost.min() + HOPELESS
        return self._ended(values, flying, cost, chi2, each[usable & (cost < cost.min() + 100 * HOPELESS)])

    def _ended(
        self, values: FloatArray, flying: FloatArray, cost: FloatArray, chi2: FloatArray, which: np.ndarray
    ) -> list[Fitted]:
        if not which.size:
            return []
        normal, _, moves = self._normal(values[which], flying[which], which)
        out = []
        for row, number in enumerate(which):
            scale = np.sqrt(np.diag(normal[row]))
            covariance = np.linalg.pinv(normal[row] / np.outer(scale, scale), rcond=1e-13, hermitian=True)
            covariance /= np.outer(scale, scale)
            spread = moves[row] @ covariance @ moves[row].T
            if np.isfinite(spread).all() and np.isfinite(covariance).all():
                flown = self._fly(values[[number]], flying[[number]])
                halved = self._fly(values[[number]], flying[[number]], landing_only=True, finer=2)
                off = flown.landings_s - halved.landings_s
                # a flight that changes with its steps, or never arrives, says nothing
                arrived = flown.landed.all() and halved.landed.all()
                if not arrived or (np.abs(off) > NOT_CONVERGED * flying[number]).any():
                    continue
                spread = spread + np.outer(off, off)
                out.append(
                    Fitted(
                        int(number), values[number], covariance, float(chi2[number]), float(cost[number]),
                        flying[number], flown.landings_s, spread, flown.hops_s,
                        self._near(values[[number]], flown, flying[number]),
                    )
                )  # fmt: skip
        return out

    def _near(self, values: FloatArray, flown: Flights, flying: FloatArray) -> float:
        """Return chi squared a sample from one flight before the landings to one after: a long rest hides a misfit."""
        model = values[0, LEVEL] * self._currents(flown, values)[0, :, 0]
        squares = ((model - self.samples.current_a) * self.samples.weights) ** 2
        after = self.samples.times_s - (values[0, COUNT : COUNT + self.closings] + flown.landings_s)[:, None]
        near = (np.abs(after) < flying[:, None]) & (self.samples.weights > 0)
        return float(squares[near].sum() / max(near.sum(), LEAST_NEAR))

    def _parts(self, values: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return coil for each closing, shape (k c, COUNT), the instants and the spring forces, each shape (k, c)."""
        coil = np.repeat(values[:, :COUNT], self.closings, axis=0)
        return coil, values[:, COUNT : COUNT + self.closings], values[:, COUNT + self.closings :]

    def _fly(
        self, values: FloatArray, flying: FloatArray, *, landing_only: bool = False, finer: int = 1
    ) -> Flights:
        coil, instants, heavier = self._parts(values)
        spans = (self.samples.times_s[:, -1] - instants).ravel()
        return fly(coil, heavier.ravel(), spans, flying.ravel(), landing_only=landing_only, finer=finer)

    def _currents(self, flights: Flights, values: FloatArray, each: int = 1) -> FloatArray:
        """Return the model's current at the samples, shape (k, c, each, m)."""
        count, m = len(values), self.samples.times_s.shape[1]
        out = np.empty((count, self.closings, each, m))
        for k in range(count):
            for c in range(self.closings):
                times = self.samples.times_s[c] - values[k, COUNT + c]
                for e in range(each):
                    out[k, c, e] = flights.at((k * self.closings + c) * each + e, times)
        return out

    def _cost(
        self, values: FloatArray, flying: FloatArray, which: np.ndarray
    ) -> tuple[FloatArray, FloatArray, tuple[FloatArray, FloatArray]]:
        """Return chi squared, the cost, and landings and times under way; LOST where an armature did not land."""
        flights, shape = self._fly(values, flying), (len(values), self.closings)
        model = values[:, LEVEL, None, None] * self._currents(flights, values)[:, :, 0]
        chi2 = (((model - self.samples.current_a) * self.samples.weights) ** 2).sum(axis=(1, 2))
        heavier = values[:, COUNT + self.closings :]
        known = (self.weights[which] * (values[:, :COUNT] - self.middles[which]) ** 2).sum(axis=1)
        known += ((heavier / self.samples.heavier_u) ** 2).sum(axis=1)
        arrived = flights.landed.reshape(shape).all(axis=1) & np.isfinite(chi2)
        under_way = np.maximum(flights.landings_s - flights.starts_s, 1e-6).reshape(shape)
        return chi2, np.where(arrived, chi2 + known, LOST), (flights.landings_s.reshape(shape), under_way)

    def _normal(
        self, values: FloatArray, flying: FloatArray, which: np.ndarray
    ) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the normal equations (k, d, d), (k, d), and how each landing moves with each parameter (k, c, d)."""
        count, closings, m = len(values), self.closings, self.samples.times_s.shape[1]
        free = np.array([index for index in range(1, COUNT) if (self.weights[which, index] < FIXED).any()])
        each = free.size + 2
        coil, _, heavier = self._parts(values)
        nudged = np.repeat(coil[:, None], each, axis=1)
        steps = np.where(np.arange(COUNT) < COUNT - 4, NUDGE, NUDGE_SMALL)
        for place, index in enumerate(free):
            nudged[:, place + 1, index] += steps[index]
        weighs = np.repeat(heavier.reshape(-1, 1), each, axis=1)
        weighs[:, -1] += NUDGE
        instants = values[:, COUNT : COUNT + closings]
        spans = np.repeat((self.samples.times_s[:, -1] - instants).ravel(), each)
        flights = fly(nudged.reshape(-1, COUNT), weighs.ravel(), spans, np.repeat(flying.ravel(), each))
        shares, level = self._currents(flights, values, each), values[:, LEVEL, None, None]
        landings = flights.landings_s.reshape(count, closings, each)
        slope = np.zeros((count, closings, m, values.shape[1]))
        moves = np.zeros((count, closings, values.shape[1]))
        for place, index in enumerate(free):
            slope[..., index] = level * (shares[:, :, place + 1] - shares[:, :, 0]) / steps[index]
            moves[..., index] = (landings[..., place + 1] - landings[..., 0]) / steps[index]
        slope[..., LEVEL] = shares[:, :, 0]
        moves[..., LEVEL] = 0.0
        wide = 1e-3 * float(self.samples.times_s[0, 1] - self.samples.times_s[0, 0])
        for c in range(closings):
            slope[:, c, :, COUNT + closings + c] = level[:, 0] * (shares[:, c, -1] - shares[:, c, 0]) / NUDGE
            moves[:, c, COUNT + closings + c] = (landings[:, c, -1] - landings[:, c, 0]) / NUDGE
            for k in range(count):
                times, number = self.samples.times_s[c] - instants[k, c], (k * closings + c) * each
                rise = flights.at(number, times + wide) - flights.at(number, times - wide)
                slope[k, c, :, COUNT + c] = -values[k, LEVEL] * rise / (2 * wide)
        slope *= self.samples.weights[None, :, :, None]
        miss = (level * shares[:, :, 0] - self.samples.current_a) * self.samples.weights
        flat = slope.reshape(count, -1, values.shape[1])
        across = flat.transpose(0, 2, 1)
        normal, downhill = across @ flat, -(across @ miss.reshape(count, -1, 1))[:, :, 0]
        known = np.concatenate(
            [self.weights[which], np.zeros((count, closings)), np.tile(self.samples.heavier_u**-2, (count, 1))], axis=1
        )
        middle = np.concatenate([self.middles[which], np.zeros((count, 2 * closings))], axis=1)
        places = np.arange(values.shape[1])
        normal[:, places, places] += known
        return normal, downhill - known * (values - middle), moves

    def _bent(self, trial: FloatArray, flying: FloatArray, wanted: FloatArray, moves: FloatArray) -> FloatArray:
        """Put the landings where they are wanted, by the flight's scale for all and the spring force for each."""
        for _ in range(ROUNDS):
            flights = self._fly(trial, flying, landing_only=True)
            landings = flights.landings_s.reshape(wanted.shape)
            arrived = flights.landed.reshape(wanted.shape).all(axis=1)
            miss = np.where(np.asarray(arrived)[:, None], wanted - landings, 0.0)
            middle = miss.mean(axis=1)
            # where one never arrived, a quicker flight
            trial[:, LOG_SCALE] += np.where(arrived, _over(middle, moves[:, :, LOG_SCALE].mean(axis=1), 0.5), -0.2)
            own = np.einsum("kcc->kc", moves[:, :, COUNT + self.closings :])
            trial[:, COUNT + self.closings :] += _over(miss - middle[:, None], own, 0.1)
            flying = np.maximum(flights.landings_s - flights.starts_s, 1e-6).reshape(wanted.shape)
        return trial


def _over(wanted: FloatArray, slope: FloatArray, most: float) -> FloatArray:
    return np.asarray(np.clip(wanted / np.where(np.abs(slope) > 1e-9, slope, np.inf), -most, most))


def _damped(normal: FloatArray, downhill: FloatArray, damping: FloatArray) -> FloatArray:
    scale = np.sqrt(np.einsum("kii->ki", normal))
    stiff = normal / (scale[:, :, None] * scale[:, None, :])
    places = np.arange(scale.shape[1])
    stiff[:, places, places] += damping[:, None]
    return np.asarray(np.linalg.solve(stiff, (downhill / scale)[:, :, None])[:, :, 0] / scale)


def side_by_side(pieces: Sequence[tuple[FloatArray, FloatArray, float]], heavier_u: FloatArray) -> Samples:
    """Lay windows side by side: each times, current and noise of one sample."""
    longest = max(times.size for times, _, _ in pieces)

    def padded(row: FloatArray, fill: float) -> FloatArray:
        return np.pad(row, (0, longest - row.size), constant_values=fill)

    return Samples(
        np.array([padded(times, float(times[-1])) for times, _, _ in pieces]),
        np.array([padded(current, 0.0) for _, current, _ in pieces]),
        np.array([padded(np.full(times.size, 1 / noise), 0.0) for times, _, noise in pieces]),
        heavier_u,
    )
