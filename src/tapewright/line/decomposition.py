r"""From displaced instants to causes: speed, bias, start reference, and each contact's own lateness.

The mean displacement of a group g (direction, boundary k) is modelled as

    y_g = m(direction) + s k + e_g + noise,        noise ~ N(0, C)  from the scatter of the instants

    s      the unit is longer (+) or shorter than first thought: the motor's speed
    m      common displacement of all closings, and of all openings: gap, loop, threshold
    e_g    this contact's own lateness, closing or opening

Speed, bias and contacts are not separable without saying what a contact's own lateness may be. Here: most
contacts are close to where they belong, a few are off. e_g is drawn from N(0, tau^2) if the contact is good and
from N(0, V^2) if it is off; tau, and a once-a-turn part that all good contacts may share, are not known and are
averaged over a grid, beginning at nothing. The posterior is exact: every set of contacts that could be off, up to half
of them, is summed over; nothing is sampled. So one
contact that is late does not push the speed or its neighbours, and where contacts are out all over the place the
doubt of the speed grows as it should. The contacts' latenesses have no mean and no slope over k other than what
their prior allows.

Of the common displacements, bias moves only closings and end distortion only openings (FED-STD-1037C; signs:
marking bias = closings early, marking end = openings late). A start transition that is itself late moves both
together, early: it cannot be told from bias and end distortion of opposite sense, so the start reference is given
for that reading of the data, where the two displacements agree.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import IntArray
from tapewright.line.groups import Groups
from tapewright.recordings.capture import BoolArray, FloatArray

#: Chance that a contact is off, and how far such a contact may be, as a share of the unit.
OFF_CHANCE, OFF_UNITS = 0.025, 0.10
#: What good contacts may be out by: each for itself (standard deviation, share of the unit), all once a turn by a cam
#: shaft that runs out (both amplitudes alike), and the weight of that; it begins at nothing. The turn is taken for
#: that of a usual character.
SPREADS = np.array(
    [
        (0.0, 0.0, 0.40),
        (0.002, 0.0, 0.10),
        (0.004, 0.0, 0.10),
        (0.008, 0.0, 0.10),
        (0.016, 0.0, 0.10),
        (0.032, 0.0, 0.10),
        (0.002, 0.01, 0.05),
        (0.004, 0.03, 0.05),
    ]
)
TURN_CHARACTER_UNITS = 7.5
#: With more groups than five elements have, fewer are taken for off, or there would be too many sets.
FIVE_ELEMENTS, MOST_OFF = 11, 3
#: No mean is known better than this share of the unit.
SMALLEST_UNITS = 1e-6
#: Wide priors of the common displacements and of the speed, as a share of the unit; they decide only what no
#: instant speaks of (a run of one character).
COMMON_UNITS, SPEED_UNITS = 0.20, 0.05
#: A set this much (natural logarithm) less likely than the best of its kind is left out of the sums.
LEAST_LOG = -20.0


@dataclass(frozen=True, slots=True, eq=False)
class Decomposition:
    """What displaces the instants. All times in seconds.

    Attributes:
        unit_s: measured unit.
        closings_s: common displacement of the closings (marking bias has it negative).
        openings_s: common displacement of the openings (marking end distortion has it positive).
        boundary: shape (g,), k of each group.
        to_mark: shape (g,), True for a contact closing.
        own_s: shape (g,), own lateness of each group.
        covariance: shape (3 + g, 3 + g), of closings, openings, unit, and the own latenesses, s squared.
        off: shape (g,), probability that this contact is off rather than good.
        n: shape (g,), number of instants behind it.
        inseparable: what the data cannot tell apart, one sentence each.
    """

    unit_s: float
    closings_s: float
    openings_s: float
    boundary: IntArray
    to_mark: BoolArray
    own_s: FloatArray
    covariance: FloatArray
    off: FloatArray
    n: IntArray
    inseparable: tuple[str, ...]

    @property
    def closings_u_s(self) -> float:
        """Return the standard uncertainty of the closings' common displacement."""
        return self.u_of({0: 1.0})

    @property
    def openings_u_s(self) -> float:
        """Return the standard uncertainty of the openings' common displacement."""
        return self.u_of({1: 1.0})

    @property
    def between_u_s(self) -> float:
        """Return the standard uncertainty of closings less openings."""
        return self.u_of({0: 1.0, 1: -1.0})

    @property
    def unit_u_s(self) -> float:
        """Return the standard uncertainty of the unit."""
        return self.u_of({2: 1.0})

    @property
    def own_u_s(self) -> FloatArray:
        """Return the standard uncertainty of each own lateness, (g,)."""
        return np.asarray(np.sqrt(np.maximum(np.diag(self.covariance)[3:], 0.0)), float)

    def group(self, boundary: int, to_mark: bool) -> int | None:
        """Return the number of a group; None where its instant never occurs."""
        at = np.flatnonzero((self.boundary == boundary) & (self.to_mark == to_mark))
        return int(at[0]) if at.size else None

    def u_of(self, sum_of: Mapping[int, float]) -> float:
        """Return the standard uncertainty of a sum: place in `covariance` -> factor."""
        at, factors = list(sum_of), np.array(list(sum_of.values()))
        return float(np.sqrt(max(float(factors @ self.covariance[np.ix_(at, at)] @ factors), 0.0)))


def decompose(groups: Groups) -> Decomposition:
    """Split the group means into speed, common displacements and each contact's own lateness."""
    T, g = groups.unit_s, groups.mean_s.size
    k = groups.boundary.astype(float)
    design = np.column_stack((groups.to_mark, ~groups.to_mark, k)).astype(float).reshape(g, 3)
    noise = groups.covariance + np.eye(g) * (SMALLEST_UNITS * T) ** 2
    weight, beta, beta_cov, gain, off = _posterior(groups.mean_s, noise, design, k, T)
    mean = weight @ beta
    cov = np.einsum("c,cij->ij", weight, beta_cov) + (beta - mean).T * weight @ (beta - mean)
    # what is left of each mean is the contact's own, drawn towards nothing by no belief in good contacts; its error is
    # the noise of the mean less that of what is common, so that all of them have one covariance
    noise_beta = noise @ gain.T
    own_beta = noise_beta - design @ cov
    own_cov = noise - noise_beta @ design.T - design @ noise_beta.T + design @ cov @ design.T
    covariance = np.block([[cov, own_beta.T], [own_beta, (own_cov + own_cov.T) / 2]])
    return Decomposition(
        unit_s=T + float(mean[2]),
        closings_s=float(mean[0]),
        openings_s=float(mean[1]),
        boundary=groups.boundary,
        to_mark=groups.to_mark,
        own_s=groups.mean_s - design @ mean,
        covariance=covariance,
        off=np.minimum(weight @ off, 1.0),
        n=groups.n,
        inseparable=_inseparable(groups),
    )


def _posterior(
    y: FloatArray, noise: FloatArray, design: FloatArray, k: FloatArray, unit_s: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return, for every (set of contacts off, spread) that counts, its weight and its Gaussian posterior.

    Returns:
        weight (c,), beta (c, 3), covariance of beta (c, 3, 3); how beta goes with y, averaged, (3, g); off (c, g).
    """
    g = y.size
    prior = (np.array([COMMON_UNITS, COMMON_UNITS, SPEED_UNITS]) * unit_s) ** 2
    angle = 2 * np.pi * k / TURN_CHARACTER_UNITS
    turn = np.outer(np.cos(angle), np.cos(angle)) + np.outer(np.sin(angle), np.sin(angle))
    good, bad = (SPREADS[:, 0] * unit_s) ** 2, (OFF_UNITS * unit_s) ** 2
    start = noise + good[:, None, None] * np.eye(g) + ((SPREADS[:, 1] * unit_s) ** 2)[:, None, None] * turn
    off, spread, inverse, log_det = _all_sets(start, good, bad)
    # in information form, because the priors are so much wider than the noise that differences would cancel
    solved = (inverse.reshape(-1, g) @ np.column_stack((design, y))).reshape(-1, g, 4)
    to_beta, to_y = solved[:, :, :3], solved[:, :, 3]
    information = np.diag(1 / prior) + np.einsum("gi,cgj->cij", design, to_beta)
    beta_cov = np.linalg.inv(information)
    beta = np.einsum("cij,cj->ci", beta_cov, to_y @ design)
    rest = y - beta @ design.T
    gain = to_y - np.einsum("cgi,ci->cg", to_beta, beta)
    misfit = (rest * gain).sum(axis=1) + (beta**2 / prior).sum(axis=1)
    chance = off.sum(axis=1) * np.log(OFF_CHANCE / (1 - OFF_CHANCE)) + np.log(SPREADS[:, 2])[spread]
    log = chance - 0.5 * (log_det + np.linalg.slogdet(information)[1] + misfit)
    counts = log > log.max() + LEAST_LOG
    weight = np.exp(log[counts] - log.max())
    weight /= weight.sum()
    from_y = np.einsum("c,cij,cgj->ig", weight, beta_cov[counts], to_beta[counts])
    return weight, beta[counts], beta_cov[counts], from_y, off[counts].astype(float)


def _all_sets(start: FloatArray, good: FloatArray, bad: float) -> tuple[BoolArray, IntArray, FloatArray, FloatArray]:
    """Return the inverse and log determinant of noise + own prior, for every set of contacts off and every spread.

    One contact after the other is turned from good to off in all sets so far, which changes each inverse by a matrix
    of rank one (Sherman and Morrison's formula); far quicker than to invert every one.

    Returns:
        off (c, g), number of the spread (c,), inverse (c, g, g), log determinant (c,).
    """
    g = start.shape[1]
    inverse, log_det = np.linalg.inv(start), np.linalg.slogdet(start)[1]
    off: BoolArray = np.zeros((good.size, g), bool)
    tau: IntArray = np.arange(good.size, dtype=np.int64)
    for k in range(g):
        # were more than half of them off, there would be nothing to measure any of them against
        room = off.sum(axis=1) < min((g + 1) // 2, MOST_OFF if g > FIVE_ELEMENTS else g)
        more, worse = (bad - good)[tau[room], None], inverse[room]
        row = worse[:, k].copy()
        grown = 1 + more[:, 0] * row[:, k]
        worse -= (more / grown[:, None] * row)[:, :, None] * row[:, None, :]
        # these two by division, as the difference would cancel
        worse[:, k], worse[:, :, k] = row / grown[:, None], row / grown[:, None]
        too = off[room]
        too[:, k] = True
        off, tau = np.concatenate((off, too)), np.concatenate((tau, tau[room]))
        inverse = np.concatenate((inverse, worse))
        log_det = np.concatenate((log_det, log_det[room] + np.log(grown)))
    return off, tau, np.asarray(inverse, float), np.asarray(log_det, float)


def _inseparable(groups: Groups) -> tuple[str, ...]:
    """Say which terms this recording cannot tell apart, from which instants occur in it at all."""
    closings = int(np.count_nonzero(groups.to_mark))
    openings = int(groups.to_mark.size) - closings
    places = len(set(groups.boundary.tolist()))
    says = []
    if closings + openings <= 3:
        says.append(
            f"only {closings + openings} different instants occur: speed, bias and a contact's own lateness "
            "cannot be told apart; key other characters (R and Y in turn show nearly all)"
        )
    elif closings < 3:
        says.append("too few different closings occur to tell bias from one contact's lateness")
    if openings and openings < 3 and closings + openings > 3:
        says.append("too few different openings occur to tell end distortion from one contact's lateness")
    if not openings:
        says.append("no contact is seen to open: end distortion is not shown")
    if places == 1:
        says.append("all instants lie at one boundary: the speed cannot be told from bias")
    return tuple(says)
