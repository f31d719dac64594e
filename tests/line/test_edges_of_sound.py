"""AC-coupled sound: every edge comes back, unbiased, whatever the coupling. Truth: tests/core/line/made_sound.py."""

import numpy as np
import pytest
from scipy.signal import lfilter

from line.made_sound import keyed_line, sound
from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.edges.coupling_fit import find_coupling
from tapewright.recordings.edges.extract import extract

from .held import Held


def edges_of(samples, rate_hz=44_100):
    return extract(Held(samples), RegularClock(1 / rate_hz))[0].edges


CASES = {
    "half a hertz": {"corners_hz": (0.5,)},
    "2 Hz": {"corners_hz": (2.0,)},
    "20 Hz": {"corners_hz": (20.0,)},
    "50 Hz": {"corners_hz": (50.0,)},
    "two capacitors": {"corners_hz": (5.0, 20.0)},
    "two far apart": {"corners_hz": (0.7, 20.0)},
    "second-order filter": {"corners_hz": (20.0,), "butterworth": 2},
    "noise": {"noise": 0.02},
    "hum": {"hum": 0.1},
    "clipped": {"clip": 0.35},
    "clipped hard": {"clip": 0.2},
    "offset": {"offset": 0.1},
    "22.05 kHz": {"rate_hz": 22_050},
    "96 kHz": {"rate_hz": 96_000},
}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.replace(" ", "-"))
def test_every_edge_comes_back_unbiased(case):
    truth, end = keyed_line(20)
    how = CASES[case]
    rate_hz = how.get("rate_hz", 44_100)
    edges = edges_of(sound(truth, end, **how), rate_hz)
    assert edges.times_s.size == truth.size
    assert edges.starts_high is True
    assert not edges.levels_known
    assert "AC coupling" in [each.suspicion for each in edges.suspicions]
    late = edges.times_s - truth
    # a tenth of what a contact's lateness may be out by in sound (0.15 ms)
    assert np.abs(late).max() < 0.015e-3
    assert abs(late[edges.level_after].mean() - late[~edges.level_after].mean()) < 0.002e-3
    assert np.sqrt(np.mean(late**2)) < 2 * edges.u_s.mean()


@pytest.mark.parametrize("corner_hz", [0.5, 5.0, 30.0])
def test_coupling_is_the_one_put_in(corner_hz):
    truth, end = keyed_line(20)
    found = find_coupling(sound(truth, end, corners_hz=(corner_hz,)), 44_100)
    assert found.coupling.order == 1
    assert found.coupling.corner_hz == pytest.approx(corner_hz, rel=0.01)
    assert found.step == pytest.approx(0.5, rel=0.01)


@pytest.mark.parametrize("corner_hz", [1.0, 20.0])
def test_bounce_is_kept(corner_hz):
    truth, end = keyed_line(20, bounce_s=0.002, bias=0.2)
    edges = edges_of(sound(truth, end, corners_hz=(corner_hz,)))
    # pulses shorter than two samples may vanish in the card's own filter; all others must be there
    wide = np.diff(truth, prepend=-1) > 2.5 / 44_100
    wide &= np.diff(truth, append=1e9) > 2.5 / 44_100
    apart = np.abs(edges.times_s[:, None] - truth[wide]).min(axis=0)
    assert np.count_nonzero(wide) > 100
    assert np.mean(apart < 0.05e-3) > 0.98


@pytest.mark.parametrize("filter_s", [0.0, 0.001, 0.003])
def test_dc_coupled_sound_is_left_as_it_is(filter_s):
    truth, end = keyed_line(12)
    edges = edges_of(sound(truth, end, corners_hz=(), filter_s=filter_s))
    assert edges.levels_known
    assert edges.times_s.size == truth.size
    assert ("slow edges" in [each.suspicion for each in edges.suspicions]) is (filter_s > 0)


def test_long_idle_and_short_text():
    truth, end = keyed_line(12, lead_s=40.0)
    edges = edges_of(sound(truth, end + 40.0, rate_hz=22_050, corners_hz=(1.0,)), 22_050)
    assert edges.times_s == pytest.approx(truth, abs=0.03e-3)


def test_noise_alone_has_no_edges():
    samples = np.random.default_rng(5).normal(0, 0.01, 200_000)
    assert edges_of(samples).times_s.size == 0


@pytest.mark.parametrize("seed", [0, 2])
@pytest.mark.parametrize("charged", [True, False])
def test_one_capacitor_is_not_taken_for_two_however_the_recording_begins(seed, charged):
    """60 ms lies between the corners tried first; a recorder switched on beside a resting line is not charged yet."""
    truth, end = keyed_line(71, unit_s=0.02, lead_s=1.0, pause_s=0, seed=seed)
    times = np.arange(round(end * 8000)) / 8000
    line = (np.searchsorted(truth, times, side="right") % 2 == 0).astype(float)
    # one capacitor, sample by sample: y[n] = a (y[n - 1] + x[n] - x[n - 1])
    keep = 1 / (1 + 1 / (8000 * 0.06))
    passed = lfilter([keep, -keep], [1, -keep], line - (line[0] if charged else 0.0))
    noisy = 0.5 * passed + 0.005 * np.random.default_rng(5).standard_normal(times.size)
    found = find_coupling(noisy, 8000)
    assert found.coupling.order == 1
    assert found.coupling.corner_hz == pytest.approx(1 / (2 * np.pi * 0.06), rel=0.05 if charged else 0.15)
    edges = edges_of(noisy, 8000)
    assert edges.times_s.size == truth.size
    assert np.abs(edges.times_s - truth).max() < 0.2e-3
