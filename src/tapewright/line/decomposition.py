r"""From displaced instants to causes: speed, bias, start reference, and each contact's own lateness.

The mean displacement of a group g (direction, boundary k) is modelled as

    y_g = m(direction) + s k + e_g + noise,        noise ~ N(0, C)  from the scatter of the instants

    s      the unit is longer (+) or shorter than first thought: the motor's speed
    m      common displacement of all closings, and of all openings: gap, loop, threshold
    e_g    this contact's own lateness, closing or opening

Speed, bias and contacts are not separable without saying what a contact's own lateness may be. Here: most
contacts are close to where they belong, a few are off. e_g is drawn from N(0, tau^2) if the contact is good and
from N(0, V^2) if it is off; tau is not known and is averaged over a grid, beginning at nothing. The posterior is
exact: every set of contacts that could be off, up to half of them, is summed over; nothing is sampled. So one
contact that is late does not push the speed or its neighbours, and where contacts are out all over the place the
doubt of the speed grows as it should. The contacts' latenesses have no mean and no slope over k other than what
their prior allows.

Of the common displacements, bias moves only closings and end distortion only openings (FED-STD-1037C; signs:
marking bias = closings early, marking end = openings late). A start transition that is itself late moves both
together, early: it cannot be told from bias and end distortion of opposite sense, so the start reference is given
for that reading of the data, where the two displacements agree.
"""

from dataclasses import dataclass

import numpy as np

from tapewright.line.frames import IntArray
from tapewright.line.groups import Groups
from tapewright.recordings.capture import BoolArray, FloatArray

#: Chance that a contact is off, and how far such a contact may be, as a share of the unit.
OFF_CHANCE, OFF_UNITS = 0.025, 0.10
#: How far a good contact may be from its place, as a share of the unit, with the weight of each possibility.
TAU_UNITS = np.array([0.0, 0.002, 0.004, 0.008, 0.016, 0.032])
TAU_WEIGHT = np.array([0.4, 0.12, 0.12, 0.12, 0.12, 0.12])
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
        unit_u_s: its standard uncertainty.
        closings_s: common displacement of the closings (marking bias has it negative), with `closings_u_s`.
        openings_s: common displacement of the openings (marking end distortion has it positive), with u.
        between_u_s: standard uncertainty of closings less openings.
        boundary: shape (g,), k of each group.
        to_mark: shape (g,), True for a contact closing.
        own_s: shape (g,), own lateness of each group.
        own_u_s: shape (g,), its standard uncertainty.
        off: shape (g,), probability that this contact is off rather than good.
        n: shape (g,), number of instants behind it.
        inseparable: what the data cannot tell apart, one sentence each.
    """

    unit_s: float
    unit_u_s: float
    closings_s: float
    closings_u_s: float
    openings_s: float
    openings_u_s: float
    between_u_s: float
    boundary: IntArray
    to_mark: BoolArray
    own_s: FloatArray
    own_u_s: FloatArray
    off: FloatArray
    n: IntArray
    inseparable: tuple[str, ...]


def decompose(groups: Groups) -> Decomposition:
    """Split the group means into speed, common displacements and each contact's own lateness."""
    T, g = groups.unit_s, groups.mean_s.size
    k = groups.boundary.astype(float)
    design = np.column_stack((groups.to_mark, ~groups.to_mark, k)).astype(float).reshape(g, 3)
    prior = np.diag([(COMMON_UNITS * T) ** 2, (COMMON_UNITS * T) ** 2, (SPEED_UNITS * T) ** 2])
    weight, beta, beta_cov, own, own_var, off = _posterior(groups.mean_s, groups.covariance, design, prior, T)
    mean = weight @ beta
    cov = np.einsum("c,cij->ij", weight, beta_cov) + (beta - mean).T * weight @ (beta - mean)
    # a contact is measured as if nothing were known of it beforehand: the sets that take it for good would
    # draw its lateness towards nothing
    unknown = weight[:, None] * off
    unknown = unknown / unknown.sum(axis=0)
    mean_own = (unknown * own).sum(axis=0)
    var_own = (unknown * (own_var + (own - mean_own) ** 2)).sum(axis=0)
    between = cov[0, 0] + cov[1, 1] - 2 * cov[0, 1]
    return Decomposition(
        unit_s=T + float(mean[2]),
        unit_u_s=float(np.sqrt(cov[2, 2])),
        closings_s=float(mean[0]),
        closings_u_s=float(np.sqrt(cov[0, 0])),
        openings_s=float(mean[1]),
        openings_u_s=float(np.sqrt(cov[1, 1])),
        between_u_s=float(np.sqrt(max(between, 0.0))),
        boundary=groups.boundary,
        to_mark=groups.to_mark,
        own_s=mean_own,
        own_u_s=np.sqrt(var_own),
        off=np.minimum(weight @ off, 1.0),
        n=groups.n,
        inseparable=_inseparable(groups),
    )


def _posterior(
    y: FloatArray, noise: FloatArray, design: FloatArray, prior: FloatArray, unit_s: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray, FloatArray, FloatArray]:
    """Give, for every (set of contacts off, tau) that counts, its weight and its Gaussian posterior.

    Returns:
        weight (c,), beta (c, 3), covariance of beta (c, 3, 3), own (c, g), variance of own (c, g), off (c, g).
    """
    g = y.size
    good, bad = (TAU_UNITS * unit_s) ** 2, (OFF_UNITS * unit_s) ** 2
    noise = noise + np.eye(g) * (SMALLEST_UNITS * unit_s) ** 2
    off, tau, inverse, log_det = _all_sets(noise, good, bad)
    # in information form, because the priors are so much wider than the noise that differences would cancel
    solved = (inverse.reshape(-1, g) @ np.column_stack((design, y))).reshape(-1, g, 4)
    to_beta, to_y = solved[:, :, :3], solved[:, :, 3]
    information = np.linalg.inv(prior) + np.einsum("gi,cgj->cij", design, to_beta)
    beta_cov = np.linalg.inv(information)
    beta = np.einsum("cij,cj->ci", beta_cov, to_y @ design)
    rest = y - beta @ design.T
    gain = to_y - np.einsum("cgi,ci->cg", to_beta, beta)
    misfit = (rest * gain).sum(axis=1) + (beta**2 / np.diag(prior)).sum(axis=1)
    chance = off.sum(axis=1) * np.log(OFF_CHANCE / (1 - OFF_CHANCE)) + np.log(TAU_WEIGHT)[tau]
    log = chance - 0.5 * (log_det + np.linalg.slogdet(information)[1] + misfit)
    counts = _counting(log, off)
    off, inverse, to_beta, gain = off[counts], inverse[counts], to_beta[counts], gain[counts]
    own_prior = np.where(off, bad, good[tau[counts], None])
    weight = np.exp(log[counts] - log.max())
    known = own_prior[:, :, None] * to_beta
    own_var = own_prior * (inverse * noise).sum(axis=2) + ((known @ beta_cov[counts]) * known).sum(axis=2)
    return weight / weight.sum(), beta[counts], beta_cov[counts], own_prior * gain, own_var, off.astype(float)


def _all_sets(noise: FloatArray, good: FloatArray, bad: float) -> tuple[BoolArray, IntArray, FloatArray, FloatArray]:
    """Return the inverse and log determinant of noise + own prior, for every set of contacts off and every tau.

    One contact after the other is turned from good to off in all sets so far, which changes each inverse by a matrix
    of rank one (Sherman and Morrison's formula); far quicker than to invert every one.

    Returns:
        off (c, g), number of the tau (c,), inverse (c, g, g), log determinant (c,).
    """
    g = noise.shape[0]
    start = noise + good[:, None, None] * np.eye(g)
    inverse, log_det = np.linalg.inv(start), np.linalg.slogdet(start)[1]
    off: BoolArray = np.zeros((good.size, g), bool)
    tau: IntArray = np.arange(good.size, dtype=np.int64)
    for k in range(g):
        # were more than half of them off, there would be nothing to measure any of them against
        room = off.sum(axis=1) < (g + 1) // 2
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


def _counting(log: FloatArray, off: BoolArray) -> BoolArray:
    """Say which sets count, shape (c,): of all sets, and of those in which any one contact is off."""
    mine = np.where(off, log[:, None], -np.inf)
    return np.asarray((log > log.max() + LEAST_LOG) | (mine > mine.max(axis=0) + LEAST_LOG).any(axis=1))


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
