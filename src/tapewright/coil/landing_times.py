"""When the armature landed at each closing: flights of several kinds of coil fitted and weighed against each other."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from tapewright.coil.coil_recording import FloatArray
from tapewright.coil.flight import COUNT, LEVEL, LOG_GROWTH, LOG_REBOUND, LOG_SCALE, LOG_T1, NO_REBOUND, START, fly
from tapewright.coil.flight_fit import Fitted, Joint, Samples
from tapewright.coil.flight_priors import HEAVIER, PRIOR, SHARES, Kind, of_kinds

#: the kinds are weighed on this many closings, the rest comes in when few kinds are left
WEIGHED_ON = 3
#: a kind of less weight than this is left out
LEAST_WEIGHT = 0.02
#: a plainer kind that is this much worse need not be made richer
FAR = 30.0
#: the law of L over the way is none of the tests': what another one would do to the landing, as a share of the flight,
#: and of a sample (half of what lies between reluctance falling evenly and inductance rising exponentially)
LAW_SHARE, LAW_SAMPLES = 0.01, 0.15
#: a closing this far from the others, relatively, may have a spring force five times as far from theirs
ASTRAY, ASTRAY_TIMES = 0.1, 5.0
HALVINGS = 22


@dataclass(frozen=True, slots=True, eq=False)
class Rough:
    """What is known before: level and time constants of the coil, and of each closing instant and landing.

    Attributes:
        level: ampere.
        t1_s: L / R with the armature out.
        t2_s: L / R with it landed.
        travel_s: about how long it moved.
        instants_s: shape (c,), in the closing's own window.
        landings_s: shape (c,), from the instant.
    """

    level: float
    t1_s: float
    t2_s: float
    travel_s: float
    instants_s: FloatArray
    landings_s: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Timed:
    """What the flights say.

    Attributes:
        instants_s: shape (c,), of the closing in its own window.
        landings_s: shape (c,).
        landings_u_s: shape (c,).
        shared_u_s: the part of it that all closings share.
        travel_s: shape (c,), time under way.
        travel_u_s: its doubt.
        t1_s: L / R before, value and doubt.
        t2_s: L / R after, value and doubt.
        rebounds: how sure it is that the armature rebounds, 0 to 1.
        hops_s: shape (c,), length of the hop where it does.
        hop_u_s: its doubt.
        reduced: chi squared per sample of the best, over all samples or round the landings, whichever is worse.
    """

    instants_s: FloatArray
    landings_s: FloatArray
    landings_u_s: FloatArray
    shared_u_s: float
    travel_s: FloatArray
    travel_u_s: float
    t1_s: tuple[float, float]
    t2_s: tuple[float, float]
    rebounds: float
    hops_s: FloatArray
    hop_u_s: float
    reduced: float


def time_landings(samples: Samples, rough: Rough) -> Timed | None:
    """Time the landings of some closings; None where no flight can be made to land where the current jumps."""
    # what is tried far out may run away or leave nothing to solve: such a flight counts as one that did not arrive
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        try:
            return _time(samples, rough)
        except np.linalg.LinAlgError:
            return None


def _time(samples: Samples, rough: Rough) -> Timed | None:
    spread = np.abs(rough.landings_s / np.median(rough.landings_s) - 1)
    samples = replace(samples, heavier_u=np.where(spread > ASTRAY, ASTRAY_TIMES, 1.0) * HEAVIER)
    few = np.sort(np.argsort(spread, kind="stable")[:WEIGHED_ON])
    fits = _weighed(_only(samples, few), _of(rough, few))
    if not fits:
        return None
    if few.size < spread.size:
        fits = _all(samples, rough, fits)
    return _averaged(samples, fits) if fits else None


def _only(samples: Samples, few: np.ndarray) -> Samples:
    return Samples(samples.times_s[few], samples.current_a[few], samples.weights[few], samples.heavier_u[few])


def _of(rough: Rough, few: np.ndarray) -> Rough:
    return replace(rough, instants_s=rough.instants_s[few], landings_s=rough.landings_s[few])


def _weighed(samples: Samples, rough: Rough) -> dict[Kind, Fitted]:
    """Fit the plain kinds from several starts, then what they lack."""
    plain, rebounding = frozenset[str](), frozenset({"rebound"})
    landing, travel = float(np.median(rough.landings_s)), rough.travel_s
    flights = [min(max(share * travel, 0.03 * landing), 0.97 * landing) for share in (0.4, 0.8)]
    # with a hop, the jump that was seen may be its end
    tries = [
        (plain, landing, flights[0]), (plain, landing, flights[1]), (rebounding, landing, flights[1]),
        (rebounding, landing - 0.35 * flights[1], 0.65 * flights[1]),
    ]  # fmt: skip
    best: dict[Kind, Fitted] = {}
    _keep(best, [kind for kind, _, _ in tries], *_started(samples, rough, tries))
    if not best:
        return best
    lowest = min(fit.cost for fit in best.values())
    more = [frozenset(names) for count in (1, 2) for names in combinations(sorted(SHARES.keys() - rebounding), count)]
    richer = [(kind | extra, fit) for kind, fit in best.items() if fit.cost < lowest + FAR for extra in more]
    values = np.array([fit.values for _, fit in richer])
    flying = np.array([fit.flights_s for _, fit in richer])
    _keep(best, [kind for kind, _ in richer], samples, values, flying)
    return best


def _started(
    samples: Samples, rough: Rough, tries: Sequence[tuple[Kind, float, float]]
) -> tuple[Samples, FloatArray, FloatArray]:
    """Return starting values: each flight's scale so that it lands where it is wanted."""
    coils = np.zeros((len(tries), COUNT))
    coils[:] = [PRIOR[index][0] for index in range(COUNT)]
    growth = max(rough.t2_s / rough.t1_s - 1, 0.08)
    coils[:, [LEVEL, LOG_T1, LOG_GROWTH]] = rough.level, np.log(rough.t1_s), np.log(growth)
    coils[:, LOG_GROWTH + 6 : COUNT - 1] = 0.0
    landings, flights = (np.array([one[column] for one in tries]) for column in (1, 2))
    start = np.minimum(-np.expm1(-(landings - flights) / rough.t1_s), 0.98)
    coils[:, START] = np.log(start / (1 - start))
    coils[:, LOG_REBOUND] = [PRIOR[LOG_REBOUND][0] if kind else NO_REBOUND - 1 for kind, _, _ in tries]
    low, high, nought = np.full(len(tries), -7.0), np.full(len(tries), 3.0), np.zeros(len(tries))
    for _ in range(HALVINGS):
        coils[:, LOG_SCALE] = (low + high) / 2
        flown = fly(coils, nought, landings, 1.5 * flights, landing_only=True)
        early = flown.landed & (flown.landings_s < landings)
        low, high = np.where(early, coils[:, LOG_SCALE], low), np.where(early, high, coils[:, LOG_SCALE])
    coils[:, LOG_SCALE] = low
    closings = rough.instants_s.size
    instants = np.tile(rough.instants_s, (len(tries), 1))
    values = np.concatenate([coils, instants, np.zeros((len(tries), closings))], axis=1)
    return samples, values, np.repeat(flights[:, None], closings, axis=1)


def _keep(
    best: dict[Kind, Fitted], kinds: Sequence[Kind], samples: Samples, values: FloatArray, flying: FloatArray
) -> None:
    """Fit, and keep the best of each kind."""
    middles, weights, _ = of_kinds(kinds)
    for fit in Joint(samples, middles, weights).fit(values, flying):
        kind = kinds[fit.number]
        if kind not in best or fit.cost < best[kind].cost:
            best[kind] = fit


def _weights(fits: dict[Kind, Fitted]) -> FloatArray:
    _, _, known = of_kinds(list(fits))
    logs = known + np.array([fit.evidence for fit in fits.values()])
    shares = np.exp(logs - logs.max())
    return np.asarray(shares / shares.sum())


def _all(samples: Samples, rough: Rough, fits: dict[Kind, Fitted]) -> dict[Kind, Fitted]:
    """Fit the kinds that have weight to all closings."""
    kinds = [kind for kind, weight in zip(fits, _weights(fits), strict=True) if weight > LEAST_WEIGHT]
    count = rough.instants_s.size
    values = np.array([np.concatenate([fits[k].values[:COUNT], rough.instants_s, np.zeros(count)]) for k in kinds])
    flying = np.array([np.full(count, 1.2 * np.median(fits[k].flights_s)) for k in kinds])
    best: dict[Kind, Fitted] = {}
    _keep(best, kinds, samples, values, flying)
    return best


def _averaged(samples: Samples, fits: dict[Kind, Fitted]) -> Timed:
    """Average over the kinds; what they differ in counts as doubt."""
    weights, found = _weights(fits), list(fits.values())
    count, closings = int((samples.weights > 0).sum()), samples.times_s.shape[0]
    best = min(found, key=lambda fit: fit.cost)
    reduced = max(best.chi2 / max(count - COUNT - 2 * closings, 1), best.near)
    grow2 = max(1.0, reduced)
    landings = np.array([fit.landings_s for fit in found])
    middle = weights @ landings
    spread = sum(
        weight * (grow2 * fit.landings_cov_s2 + np.outer(own - middle, own - middle))
        for weight, fit, own in zip(weights, found, landings, strict=True)
    )
    step = float(samples.times_s[0, 1] - samples.times_s[0, 0])
    flights = weights @ np.array([f.flights_s for f in found])
    spread = np.asarray(spread) + (LAW_SAMPLES * step) ** 2 + (LAW_SHARE * float(np.median(flights))) ** 2
    shared = float(np.mean(spread[~np.eye(closings, dtype=bool)])) if closings > 1 else float(spread[0, 0])
    t1 = np.array([np.exp(fit.values[LOG_T1]) for fit in found])
    growth = np.array([np.exp(fit.values[LOG_GROWTH]) for fit in found])
    t1_u = t1 * np.array([_deviation(fit, _unit(fit, {LOG_T1: 1.0})) for fit in found])
    share = growth / (1 + growth)
    t2_u = t1 * (1 + growth) * np.array(
        [_deviation(fit, _unit(fit, {LOG_T1: 1.0, LOG_GROWTH: s})) for fit, s in zip(found, share, strict=True)]
    )
    rebounding = np.array([float("rebound" in kind) for kind in fits])
    hops = rebounding @ (weights[:, None] * np.array([fit.hops_s for fit in found])) / max(rebounding @ weights, 1e-9)
    rebound_u = rebounding @ (weights * np.array([_deviation(f, _unit(f, {LOG_REBOUND: 1.0})) for f in found]))
    grow = float(np.sqrt(grow2))
    return Timed(
        weights @ np.array([fit.values[COUNT : COUNT + closings] for fit in found]), middle, np.sqrt(np.diag(spread)),
        float(np.sqrt(max(shared, 0.0))), flights, float(np.sqrt(max(shared, 0.0))) * 2,
        _mixed(weights, t1, grow * t1_u), _mixed(weights, t1 * (1 + growth), grow * t2_u),
        float(rebounding @ weights), hops, float(grow * rebound_u * np.median(hops)), float(reduced),
    )  # fmt: skip


def _unit(fit: Fitted, parts: dict[int, float]) -> FloatArray:
    row = np.zeros(fit.values.size)
    for index, part in parts.items():
        row[index] = part
    return row


def _deviation(fit: Fitted, row: FloatArray) -> float:
    return float(np.sqrt(max(float(row @ fit.covariance @ row), 0.0)))


def _mixed(weights: FloatArray, values: FloatArray, u: FloatArray) -> tuple[float, float]:
    middle = float(weights @ values)
    return middle, float(np.sqrt(weights @ (u**2 + (values - middle) ** 2)))
