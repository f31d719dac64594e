"""How far out the next instants lie, against scipy's normal distribution and against many drawn recordings."""

import numpy as np
import pytest
from scipy import optimize, stats

from tapewright.line.tail import EARLY, LATE, Tail

N, MEAN, SD = np.array([200.0, 100.0, 50.0]), np.array([0.2e-3, -0.5e-3, 0.0]), np.array([0.1e-3, 0.2e-3, 0.3e-3])
UNIT = 0.02


def tail(**changes):
    fields = {
        "boundary": np.array([1, 2, 6]), "to_mark": np.array([True, False, True]), "n": N, "mean_s": MEAN, "sd_s": SD,
        "covariance": np.diag(SD**2 / N), "sd_share": 0.03, "unit_s": UNIT, "normal": True,
    }  # fmt: skip
    return Tail(**fields | changes)


@pytest.mark.parametrize("share", [1e-4, 1e-5])
def test_what_is_seldom_exceeded_is_where_the_normal_tails_add_up_to_it(share):
    def beyond(x):
        each = stats.norm.sf(x, MEAN / UNIT, SD / UNIT) + stats.norm.cdf(-x, MEAN / UNIT, SD / UNIT)
        return np.log(np.sum(N * each) / N.sum() / share)

    found = tail().exceeded(share, UNIT)
    assert found.value == pytest.approx(100 * optimize.brentq(beyond, 0.0, 0.3), rel=1e-6)
    assert 0 < found.u < 0.1 * found.value


def test_the_largest_spreads_as_it_does_over_many_recordings():
    rng = np.random.default_rng(2)
    group = np.repeat([0, 1, 2], N.astype(int))
    d = (MEAN[group] + SD[group] * rng.normal(size=(4000, group.size))) / UNIT
    for sides, largest in (((EARLY, LATE), np.abs(d)), ((LATE,), d), ((EARLY,), -d)):
        low, high = np.percentile(largest.max(axis=1), [15.87, 84.13])
        assert tail().of_largest(UNIT, sides) == pytest.approx((high - low) / 2, rel=0.06)


def test_nothing_is_said_of_a_tail_that_is_not_normal_or_hardly_seen():
    assert tail(normal=False).exceeded(1e-5, UNIT).value is None
    assert tail(n=np.array([10.0, 5.0, 4.0])).exceeded(1e-5, UNIT).value is None
