"""Every set of contacts that may be off is weighed exactly: against plain inverses, and against the groups drawn."""

import numpy as np
import pytest

from tapewright.line import decomposition
from tapewright.line.groups import Groups

UNIT_S = 0.02


def groups(y_s, covariance):
    boundary, to_mark = np.array([1, 2, 3, 4, 5, 6, 2, 3, 4, 5, 6]), np.arange(11) < 6
    nothing = np.zeros(1)
    return Groups(
        boundary, to_mark, np.full(11, 30), y_s, covariance, 1e-4, 1e-5, nothing, nothing > 0,
        np.zeros(1, int), UNIT_S, 1e-7,
    )  # fmt: skip


@pytest.mark.parametrize("noise_s", [1e-8, 1e-5, 1e-4])
def test_inverse_and_determinant_of_every_set_are_those_of_plain_linear_algebra(noise_s):
    noise = np.eye(5) * noise_s**2 + (noise_s / 2) ** 2
    good, bad = np.array([0.0, 1e-9]), 4e-6
    start = noise + good[:, None, None] * np.eye(5)
    off, tau, inverse, log_det = decomposition._all_sets(start, good, bad)
    assert off.shape == (2 * (1 + 5 + 10 + 10), 5)
    assert len({(*row, t) for row, t in zip(off.tolist(), tau.tolist(), strict=True) for row in [tuple(row)]}) == 52
    for row, t, found, log in zip(off, tau, inverse, log_det, strict=True):
        spread = noise + np.diag(np.where(row, bad, good[t]))
        np.testing.assert_allclose(found @ spread, np.eye(5), atol=1e-5)
        assert log == pytest.approx(np.linalg.slogdet(spread)[1], abs=1e-6)


def test_truths_lie_within_2u_for_machines_with_every_contact_a_little_off():
    generator = np.random.default_rng(20260120)
    hits = []
    for _ in range(40):
        own = generator.normal(size=11) * generator.uniform(0.002, 0.015) * UNIT_S
        covariance = np.eye(11) * (30e-6) ** 2 + (10e-6) ** 2
        found = decomposition.decompose(
            groups(own + generator.multivariate_normal(np.zeros(11), covariance), covariance)
        )
        hits.append(np.abs(found.own_s - own) <= 2 * found.own_u_s)
    share = float(np.mean(hits))
    # the eleven contacts of a machine share its speed and bias: chance moves the share by about 1.5 per cent
    assert 0.91 <= share <= 0.99, share


def test_one_contact_late_in_an_ideal_sender_is_read_at_its_full_amount_and_not_vaguely():
    own = np.zeros(11)
    own[2] = 1.5e-3
    found = decomposition.decompose(groups(own, np.eye(11) * (20e-6) ** 2))
    assert found.own_s[2] == pytest.approx(1.5e-3, abs=1e-5)
    assert found.own_u_s[2] < 40e-6
    assert np.abs(np.delete(found.own_s, 2)).max() < 1e-5
