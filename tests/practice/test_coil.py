"""The practice machine's coil against what physics says of it."""

import numpy as np
import pytest

from tapewright.practice.coil import CurrentProbe, Feed, MagnetCoil, Pulse, record, run_coil

FEED = Feed(24.0, 334.0, 0.7)
ONE = (Pulse(0.005, 0.055),)


def test_a_stuck_coil_rises_by_the_universal_time_constant_table():
    # Army subcourse MM0704: 63.2, 86.5, 95.0, 98.2, 99.3 %
    coil = MagnetCoil(stuck=True)
    tau = coil.open_h / (coil.r_ohm + FEED.series_ohm)
    truth = run_coil(coil, FEED, (Pulse(0.0, 0.03),), 0.03)
    reached = np.interp(tau * np.arange(1, 6), truth.time_s, truth.current_a) / (24 / 400) * 100
    assert reached == pytest.approx([63.2, 86.5, 95.0, 98.2, 99.3], abs=0.06)
    assert truth.landings_s == ()


def test_inductance_is_as_stated_at_both_ends():
    coil = MagnetCoil(open_h=1.2, closed_h=2.1)
    assert coil.inductance_h(coil.gap_m) == pytest.approx(1.2)
    assert coil.inductance_h(0.0) == pytest.approx(2.1)


def test_the_current_dips_as_the_armature_lands():
    truth = run_coil(MagnetCoil(), FEED, ONE, 0.06)
    landing = truth.first_landings_s[0]
    at = round(landing / 1e-5)
    before, here, after = truth.current_a[at - 150], truth.current_a[at], truth.current_a[at + 150]
    assert here < before
    assert here < after
    assert truth.gap_m[at + 1] == 0.0


def test_flux_linkage_is_the_integral_of_the_volts():
    # Faraday's law: the integral of V - R i equals L(x) i, whatever the armature did
    coil = MagnetCoil()
    truth = run_coil(coil, FEED, (Pulse(0.0, 0.03),), 0.03)
    volts = FEED.volts - (coil.r_ohm + FEED.series_ohm) * truth.current_a
    flux = np.concatenate([[0.0], np.cumsum((volts[1:] + volts[:-1]) / 2) * 1e-5])
    linkage = np.array([coil.inductance_h(x) for x in truth.gap_m]) * truth.current_a
    assert linkage[-1] == pytest.approx(flux[-1], rel=2e-3)


def test_it_does_not_move_below_the_pull_in_current():
    weak = Feed(24.0, 24 / 0.023 - 66.0)
    assert run_coil(MagnetCoil(pull_in_a=0.024), weak, ONE, 0.06).landings_s == ()


def test_grease_makes_it_late_and_residual_magnetism_keeps_it():
    free = run_coil(MagnetCoil(), FEED, ONE, 0.12)
    greasy = run_coil(MagnetCoil(damping_n_s_per_m=15.0), FEED, ONE, 0.12)
    magnetic = run_coil(MagnetCoil(residual_a=0.02), FEED, ONE, 0.12)
    assert greasy.first_landings_s[0] > free.first_landings_s[0] + 5e-4
    assert free.left_s[0] is not None
    assert magnetic.left_s[0] is None


def test_a_bouncing_armature_lands_more_than_once():
    assert len(run_coil(MagnetCoil(restitution=0.3), FEED, ONE, 0.06).landings_s) > 1


def test_the_probe_can_be_upside_down_offset_and_ac_coupled():
    truth = run_coil(MagnetCoil(stuck=True), FEED, ONE, 0.1)
    plain = record(truth, CurrentProbe(), np.random.default_rng(0))
    odd = record(truth, CurrentProbe(inverted=True, offset_a=0.01, volts_per_a=10), np.random.default_rng(0))
    assert odd == pytest.approx(-10 * (plain + 0.01))
    assert record(truth, CurrentProbe(corner_hz=20.0), np.random.default_rng(0)).min() < -0.01
