"""The practice instrument against closed forms: time constants, droop, bits, clock, band limit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.practice.instrument import (
    Instrument,
    record,
    record_edges,
    record_in_pieces,
    record_logic,
    sample_count,
    threshold_crossings,
)
from tapewright.practice.line_signal import LineSignal, from_marks
from tapewright.practice.motor import Motor
from tapewright.practice.transmitter import Transmitter, send

RNG = np.random.default_rng


def square(times, begin=0.0, end=1.0):
    times = np.array(times, dtype=float)
    return LineSignal(times, np.arange(times.size) % 2 == 0, False, begin, end)


def test_a_plain_logic_recording_changes_at_the_first_sample_after_the_instant():
    line = square([0.10005, 0.2, 0.30049])
    high = record_logic(line, Instrument(1000), RNG(0))
    assert np.flatnonzero(np.diff(high.astype(int))).tolist() == [100, 199, 300]
    assert high.size == sample_count(line, Instrument(1000)) == 1000
    times, after, starts = record_edges(line, Instrument(1000))
    assert times == pytest.approx([0.101, 0.2, 0.301])
    assert after.tolist() == [True, False, True]
    assert starts is False


@given(st.lists(st.floats(0.002, 0.9), min_size=1, max_size=8, unique=True), st.sampled_from([500, 1000, 44100]))
def test_edges_and_samples_of_a_logic_input_agree(times, rate):
    line = square(sorted(times))
    high = record_logic(line, Instrument(rate), RNG(0))
    stored, after, starts = record_edges(line, Instrument(rate))
    changes = np.flatnonzero(np.diff(high.astype(int))) + 1
    assert changes.tolist() == np.round(stored[stored < high.size / rate - 1e-9] * rate).astype(int).tolist()
    assert bool(high[0]) is starts or changes.size == 0 or stored[0] == 0
    assert (high[changes] == after[: changes.size]).all()


def test_slow_edges_cross_half_way_after_tau_ln_2():
    line = square([0.1, 0.5])
    crossings, starts = threshold_crossings(line, Instrument(1e6, rise_s=1e-3, fall_s=4e-3))
    assert crossings == pytest.approx([0.1 + 1e-3 * np.log(2), 0.5 + 4e-3 * np.log(2)])
    assert not starts


def test_slow_edges_reach_the_published_share_after_each_time_constant():
    # 63.2, 86.5, 95.0, 98.2, 99.3 % (Army subcourse MM0704, its third figure printed 95.1)
    volts = record(square([0.1]), Instrument(10_000, mark_v=100, rise_s=10e-3), RNG(0))
    reached = [volts[1000 + 100 * n] for n in range(1, 6)]
    assert reached == pytest.approx([63.2, 86.5, 95.0, 98.2, 99.3], abs=0.1)


def test_a_pulse_shorter_than_the_time_constant_never_crosses():
    assert threshold_crossings(square([0.1, 0.1005]), Instrument(1e6, rise_s=1e-3))[0].size == 0


@pytest.mark.parametrize(("corner_hz", "droop"), [(1, 0.12), (2, 0.22), (5, 0.47), (20, 0.92)])
def test_droop_in_one_element_of_20_ms(corner_hz, droop):
    # derived: 1 - exp(-2 pi f 20 ms)
    volts = record(square([0.1]), Instrument(44_100, mark_v=1, ac_hz=corner_hz), RNG(0))
    step = int(0.1 * 44_100) + 1
    assert 1 - volts[step + 882] / volts[step] == pytest.approx(droop, abs=0.01)


def test_two_sections_droop_more_and_undershoot():
    volts = record(square([0.1]), Instrument(44_100, mark_v=1, ac_hz=5, ac_order=2), RNG(0))
    assert volts[: int(0.1 * 44_100)] == pytest.approx(np.zeros(4410), abs=1e-12)
    assert volts.min() < -0.05


def test_idle_mark_is_invisible_behind_ac_coupling():
    line = LineSignal(np.empty(0), np.empty(0, dtype=bool), True, 0.0, 0.5)
    assert np.abs(record(line, Instrument(8000, ac_hz=2), RNG(0))).max() < 1e-12


@given(
    st.integers(150, 4000), st.booleans(), st.sampled_from([0.0, 5.0]), st.sampled_from([0.0, 2e-4]), st.integers(0, 3)
)
@settings(max_examples=15, deadline=None)
def test_pieces_make_the_same_recording_as_the_whole(piece, anti_alias, ac_hz, rise_s, drops):
    instrument = Instrument(8000, anti_alias=anti_alias, ac_hz=ac_hz, rise_s=rise_s, drops=drops, hum_v=0.1)
    line = square([0.1, 0.1221, 0.3, 0.4])
    whole = record(line, instrument, RNG(1))
    pieces = np.concatenate(list(record_in_pieces(line, instrument, RNG(1), piece)))
    # the band-limited edge ends after some samples: at that very sample a piece may hold it where the whole does not
    assert pieces == pytest.approx(whole, abs=3e-5)


def test_band_limited_edges_keep_their_place_between_samples():
    for place in (0.1, 0.10001, 0.100017):
        line = square([place])
        volts = record(line, Instrument(44_100, mark_v=1, anti_alias=True), RNG(0))
        after = int(np.flatnonzero(volts > 0.5)[0])
        share = (0.5 - volts[after - 1]) / (volts[after] - volts[after - 1])
        assert (after - 1 + share) / 44_100 == pytest.approx(place, abs=1.5e-6)


def test_band_limit_takes_nothing_from_a_slow_level():
    volts = record(square([0.1]), Instrument(8000, mark_v=1, anti_alias=True), RNG(0))
    assert volts[-100:] == pytest.approx(np.ones(100), abs=1e-3)
    assert volts[100:700] == pytest.approx(np.zeros(600), abs=1e-3)


def test_a_fast_clock_shows_everything_longer():
    line = square([0.1, 0.9])
    slow, fast = (record_edges(line, Instrument(1e7, clock_ppm=ppm))[0] for ppm in (0, 500))
    assert np.diff(fast)[0] / np.diff(slow)[0] == pytest.approx(1.0005, abs=1e-6)


def test_bits_clipping_noise_and_hum():
    line = square([0.5])
    assert np.unique(record(line, Instrument(1000, bits=8, noise_v=1, full_scale_v=6), RNG(0))).size <= 256
    assert record(line, Instrument(1000, clip_v=(0.5, 3.0)), RNG(0)).max() == 3.0
    assert record(line, Instrument(1000, noise_v=0.2), RNG(0))[:500].std() == pytest.approx(0.2, rel=0.1)
    hum = record(square([]), Instrument(1000, hum_v=0.3, hum_hz=60), RNG(0))
    spectrum = np.abs(np.fft.rfft(hum)) / 500
    assert spectrum.argmax() == 60
    assert spectrum.max() == pytest.approx(0.3, rel=1e-3)


def test_lost_samples_shorten_the_recording():
    line = square([0.5])
    assert record(line, Instrument(10_000, drops=3, drop_samples=50), RNG(4)).size == 10_000 - 150
    assert record_logic(line, Instrument(10_000, drops=1, drop_samples=50), RNG(4)).size == 10_000 - 50


def test_inverted_is_the_other_way_round():
    line = square([0.5])
    assert (record(line, Instrument(1000, inverted=True), RNG(0)) == 5 - record(line, Instrument(1000), RNG(0))).all()


def test_marks_outside_the_recording_are_cut_off():
    line = from_marks(np.array([[-np.inf, 0.2], [0.5, 0.7], [0.9, 2.0]]), 0.1, 1.0)
    assert line.starts_mark
    assert line.times_s.tolist() == [0.2, 0.5, 0.7, 0.9]


def test_a_long_sound_recording_is_made_quickly():
    import time

    line = send(["01010", "10101"] * 100, Transmitter(Motor(0.022)), RNG(0)).line
    started = time.process_time()
    n = record(line, Instrument(44_100, anti_alias=True, ac_hz=5, rise_s=1e-4, bits=16), RNG(0)).size
    assert time.process_time() - started < n / 44_100  # quicker than playing it
