"""The worlds of recorded lines against what is known outside them: arithmetic by hand, published figures, scipy."""

import ast
from pathlib import Path

import numpy as np
import pytest
from scipy import signal as sig
from scipy import stats

from worlds.line.gauge import CLOSING_K, Lateness, fix_gauge
from worlds.line.instrument import NAMES
from worlds.line.machines import MACHINES
from worlds.line.motor import FWHM_IN_SIGMAS, BandSwing, Motor, Sag, SteadySwing, Warming, Wheel
from worlds.line.transmitter import Transmitter, send

SOME = list(range(3))


def sent(machine, codes, deviations=(), seed=0):
    """Send codes in a stream and return line and truth; the first start lies near 0.1 s."""
    rng = np.random.default_rng(seed)
    cycle_s = machine.character_units * machine.unit_ms / 1e3
    motor = Motor(1 + 1.3 * cycle_s * len(codes), deviations)
    begins_s = 0.1 + cycle_s * np.arange(len(codes))
    end_s = float(motor.time_at(begins_s[-1:] + cycle_s)[0])
    return send(rng, machine, motor, codes, begins_s, kind="by hand", keyed=False, window_s=(0.0, end_s))


def level_at(line, times_s):
    """Return whether there is current at each time."""
    levels = np.concatenate([[line.mark_first], line.mark_after])
    return levels[np.searchsorted(line.edges_s, times_s, side="right")]


# ---- the motor


def test_phase_is_the_integral_of_speed():
    # closed form: the integral of 1 + a sin(w t + p) + g (1 - exp(-t / tau))
    swing, warm = SteadySwing(3.7, 0.06, 0.4), Warming(0.01, 20.0)
    motor, t = Motor(40.0, [swing, warm]), np.sort(np.random.default_rng(1).uniform(0, 40, 500))
    w = 2 * np.pi * 3.7
    exact = t + 0.06 / w * (np.cos(0.4) - np.cos(w * t + 0.4)) + 0.01 * (t - 20 * (1 - np.exp(-t / 20)))
    assert motor.phase_at(t) == pytest.approx(exact, abs=5e-9)
    assert motor.time_at(exact) == pytest.approx(t, abs=1e-8)


def test_a_sag_takes_its_depth_and_half_its_length_of_phase():
    # a raised cosine has half the area of its box
    motor = Motor(20.0, [Sag(10.0, 6.0, 0.15)])
    assert motor.phase_at(np.array([20.0]))[0] == pytest.approx(20 - 0.15 * 6 / 2, abs=1e-7)
    assert float(motor.speed_at(np.array([10.0]))[0]) == pytest.approx(0.85)


@pytest.mark.parametrize(("middle_hz", "width_hz", "rms"), [(1.3, 0.4, 0.02), (3.0, 0.2, 0.004)])
def test_a_band_swing_has_the_spectrum_it_says(middle_hz, width_hz, rms):
    # scipy.signal.welch; 1000 s hold some 200 to 400 independent values of the envelope, so 10 % is about three sigmas
    rng = np.random.default_rng(7)
    swing = BandSwing.draw(rng, middle_hz, width_hz, rms, 1000.0)
    x = swing.at(np.arange(0, 1000, 0.1))
    f, p = sig.welch(x, fs=10.0, nperseg=1024)
    power = np.sum(p) * (f[1] - f[0])
    mean_hz = np.sum(f * p) / np.sum(p)
    width_found_hz = FWHM_IN_SIGMAS * np.sqrt(np.sum((f - mean_hz) ** 2 * p) / np.sum(p))
    assert np.sqrt(power) == pytest.approx(rms, rel=0.1)
    assert mean_hz == pytest.approx(middle_hz, abs=0.1 * width_hz)
    assert width_found_hz == pytest.approx(width_hz, rel=0.1)
    assert abs(stats.kurtosis(x)) < 0.4  # a Gaussian process: 0; a steady sine: -1.5


# ---- published figures (shared/reference/standards.md, sections 2 and 3)


@pytest.mark.parametrize(
    ("baud", "units", "character_ms"),
    [(50, 7.5, 150.0), (74.2, 7.42, 100.0), (1000 / 22, 7.42, 163.24), (100, 7.5, 75.0)],
)
def test_characters_take_the_published_time(baud, units, character_ms):
    _, truth = sent(Transmitter(1e3 / baud, units), ["10101"] * 5)
    starts_s = truth.instants.time_s[truth.instants.k == 0]
    assert np.diff(starts_s) * 1e3 == pytest.approx(np.full(4, character_ms), abs=0.01)
    assert truth.drive.baud == pytest.approx(baud)


def test_army_example_six_elements_and_a_stop_of_31_ms():
    # Army subcourse SS0330: 6 x 22 + 31 = 163 ms
    line, _ = sent(Transmitter(22.0, 6 + 31 / 22), ["10000", "10000"])
    starts_s = line.edges_s[[0, 4]]  # start, e1, end of e1, stop, next start
    assert np.diff(starts_s)[0] * 1e3 == pytest.approx(163.0, abs=1e-6)


def test_one_per_cent_slow_is_six_per_cent_at_the_stop():
    # standards.md: B low by p per cent: d_k grows n_k p; at n = 6: 6 p
    _, truth = sent(Transmitter(20.0 * 1.01), ["01010"])
    d = dict(zip(truth.instants.k.tolist(), truth.instants.distortion_percent(20.0), strict=True))
    assert d == pytest.approx({0: 0, 2: 2.0, 3: 3.0, 4: 4.0, 5: 5.0, 6: 6.0})


def test_one_late_contact_by_hand():
    # 1 ms of 20 ms is 5 per cent, at boundary 1 and nowhere else
    closing = np.array([1.0, 0, 0, 0, 0, 0])
    _, truth = sent(Transmitter(20.0, cams=Lateness(closing, np.zeros(5))), ["10100"])
    assert truth.instants.k.tolist() == [0, 1, 2, 3, 4, 6]
    assert truth.instants.contact().tolist() == [0, 1, 1, 3, 3, 6]
    assert truth.instants.distortion_percent(20.0) == pytest.approx([0, 5, 0, 0, 0, 0])
    assert truth.contacts.mark_widths_ms == pytest.approx([19, 20, 20, 20, 20])


@pytest.mark.parametrize(("late_ms", "unit_ms", "percent"), [(2.0, 22.0, 9.1), (6.0, 13.0, 46.2)])
def test_bias_by_the_handbooks_arithmetic(late_ms, unit_ms, percent):
    # SS0031: spacing bias 2 ms of 22 ms = 9.1 %; SS03295: 6 ms of 13 ms = 46 %; marks shorter by what spaces are longer
    _, truth = sent(Transmitter(unit_ms, closing_delay_ms=late_ms), ["10101", "01010"])
    at, fixed = truth.instants, truth.contacts.fixed()
    d = at.distortion_percent(unit_ms)
    assert d[at.closing] == pytest.approx(np.full(np.sum(at.closing), percent), abs=0.05)  # SM late: spacing bias
    assert d[~at.closing] == pytest.approx(np.zeros(np.sum(~at.closing)), abs=1e-6)
    assert (fixed.bias_ms, fixed.end_ms, fixed.start_late_ms) == pytest.approx((-late_ms, 0, -late_ms / 2), abs=1e-9)
    assert fixed.own.closing_ms == pytest.approx(np.zeros(6), abs=1e-9)


def test_end_distortion_moves_openings_only():
    # FED-STD-1037C: marking end = marks end late, the stop's end apart
    _, truth = sent(Transmitter(20.0, cams=Lateness(np.zeros(6), np.full(5, 2.0))), ["10101", "01010"])
    at = truth.instants
    d = at.distortion_percent(20.0)
    assert d[at.closing] == pytest.approx(np.zeros(np.sum(at.closing)), abs=1e-6)
    assert d[~at.closing & (at.k > 0)] == pytest.approx(np.full(np.sum(~at.closing & (at.k > 0)), 10.0))
    assert truth.contacts.fixed().end_ms == pytest.approx(2.0)


# ---- the gauge


def test_fixed_latenesses_have_no_mean_and_no_slope():
    rng = np.random.default_rng(3)
    raw, start_ms = Lateness(rng.normal(0, 1, 6), rng.normal(0, 1, 5)), 0.7
    fixed = fix_gauge(raw, start_ms)
    closing, opening = fixed.own.closing_ms, fixed.own.opening_ms[:4]
    assert [np.mean(closing), np.mean(opening)] == pytest.approx([0, 0], abs=1e-12)
    assert np.sum(closing * CLOSING_K) + np.sum(opening * np.arange(2, 6)) == pytest.approx(0, abs=1e-12)
    unit_ms = (
        20.0  # the width of a mark does not depend on the gauge: common terms differ by the bias, units by the slope
    )
    widths = fixed.own.mark_widths_ms(unit_ms + fixed.slope_ms) + fixed.bias_ms
    assert widths == pytest.approx(raw.mark_widths_ms(unit_ms))


def test_a_line_cannot_tell_shaft_and_start_from_contacts():
    # a slope over all contacts and a late start leave the fixed contacts where they were
    rng = np.random.default_rng(4)
    raw = Lateness(rng.normal(0, 0.4, 6), rng.normal(0, 0.4, 5))
    tilted = raw + Lateness(0.1 * np.arange(1, 7), 0.1 * np.arange(2, 7))
    one, other = fix_gauge(raw, 0.0), fix_gauge(tilted, 0.9)
    assert other.own.closing_ms == pytest.approx(one.own.closing_ms)
    assert other.own.opening_ms == pytest.approx(one.own.opening_ms)
    assert other.slope_ms - one.slope_ms == pytest.approx(0.1)
    assert other.bias_ms == pytest.approx(one.bias_ms)
    assert other.start_late_ms - one.start_late_ms == pytest.approx(0.9)


def test_harmonics_can_be_taken_out():
    wheel = Wheel(1.0, 1, 0.5, 0.8)
    turn = Lateness(wheel.late_ms(np.arange(1.0, 7), 7.5), wheel.late_ms(np.arange(2.0, 7), 7.5))
    fixed = fix_gauge(turn, 0.0, harmonics=1, character_units=7.5)
    assert fixed.own.closing_ms == pytest.approx(np.zeros(6), abs=1e-9)
    assert np.max(np.abs(fix_gauge(turn, 0.0).own.closing_ms)) > 0.1


def test_the_truth_is_what_least_squares_find_in_noise_free_instants():
    # an independent fit of every instant: contact, direction and unit; steady motor, all codes
    rng = np.random.default_rng(5)
    machine = Transmitter(
        19.7,
        cams=Lateness(rng.normal(0, 0.4, 6), rng.normal(0, 0.4, 5)),
        start_late_ms=0.6,
        closing_delay_ms=0.3,
        wheels=[Wheel(1.0, 1, 0.3, 1.0), Wheel(1.0, 2, 0.2, 2.0)],
    )
    _, truth = sent(machine, [f"{i:05b}" for i in range(32)])
    at, fixed = truth.instants, truth.contacts.fixed()
    after_ms = (at.time_s - at.time_s[at.k == 0][at.frame]) * 1e3
    for boundary in range(1, 7):
        for closing in (True, False):
            own = fixed.own.closing_ms[boundary - 1] if closing else fixed.own.opening_ms[boundary - 2]
            common = fixed.closing_common_ms if closing else fixed.opening_common_ms
            these = after_ms[(at.k == boundary) & (at.closing == closing)]
            expected_ms = truth.contacts.line_unit_ms * boundary + common + own
            assert these == pytest.approx(np.full(len(these), expected_ms), abs=1e-6)
    assert truth.times_seen().tolist() == [16, 8, 8, 8, 8, 16, 8, 8, 8, 8]  # of 32 codes, counted by hand


# ---- every machine


@pytest.mark.parametrize("kind", MACHINES)
@pytest.mark.parametrize("seed", SOME)
def test_truth_and_line_belong_together(kind, seed):
    line, truth = MACHINES[kind].line(seed)
    at, drive = truth.instants, truth.drive
    assert 2 <= len(truth.codes) <= 600
    assert len(set(truth.codes)) > 0
    assert np.all(np.diff(line.edges_s) > 0)
    inside = (at.time_s > 0) & (at.time_s < line.duration_s)
    assert np.all(np.isin(at.time_s[inside], line.edges_s))
    for begin_s, length_s in [*truth.dropouts_s, *truth.splits_s]:
        assert not level_at(line, begin_s + length_s / 2)
        assert level_at(line, begin_s + length_s + 1e-6)
    # a hand receiver: the level in the middle of each element by the motor's own place
    starts = at.shaft_s[at.k == 0] + drive.motor_ahead_s
    middles = drive.motor.phase_at(starts)[:, None] + (np.arange(1, 6) + 0.5) * drive.set_unit_ms / 1e3
    lost = [(t - 2e-4, t + length + 2e-4) for t, length in truth.dropouts_s]
    times_s = drive.motor.time_at(middles) - drive.motor_ahead_s
    hidden = np.any([(times_s > a) & (times_s < b) for a, b in lost], axis=0) if lost else np.zeros(times_s.shape, bool)
    bits = level_at(line, times_s)
    expected = np.array([[bit == "1" for bit in code] for code in truth.codes])
    assert np.all((bits == expected)[truth.whole] | hidden[truth.whole])
    # what moved each instant adds up
    raw, k = truth.contacts.raw, at.k
    systematic = np.where(at.closing, raw.closing_ms[np.maximum(k - 1, 0)], raw.opening_ms[np.maximum(k - 2, 0)])
    systematic = np.where(k == 0, truth.contacts.start_raw_ms, systematic)
    rest_ms = (at.time_s - at.shaft_s) * 1e3 - systematic - at.scatter_ms - at.turn_ms
    if "slips" not in kind:  # there each character has its own loss
        assert np.max(np.abs(rest_ms)) < 0.25 * np.max(
            np.abs(systematic)
        )  # an angle in ms changes with the speed, no more
    if truth.character_units and truth.whole.all():  # a stream: so many units in so long a time
        units = 6 + (len(truth.codes) - 1) * truth.character_units
        assert drive.unit_ms * units == pytest.approx((drive.end_s - drive.begin_s) * 1e3)
    assert drive.unit_ms == pytest.approx(np.mean(truth.local_units_ms()[truth.whole]), rel=0.03)
    assert drive.unit_over_characters_ms == pytest.approx(np.mean(truth.local_units_ms()[truth.whole]), rel=1e-6)


def test_scatter_and_jitter_have_the_sizes_they_say():
    for seed in SOME:
        _, truth = MACHINES["long"].line(seed)
        at = truth.instants
        for size, values in (
            (truth.scatter_ms, at.scatter_ms[at.k > 0]),
            (truth.start_jitter_ms, at.scatter_ms[at.k == 0]),
        ):
            low, high = stats.chi2.ppf([1e-4, 1 - 1e-4], len(values))
            assert low < np.sum((values / size) ** 2) < high


def test_a_slipping_clutch_loses_exponentially_distributed_time():
    for seed in SOME:
        _, truth = MACHINES["clutch slips, keyed by hand"].line(seed)
        at, slip_ms = truth.instants, truth.contacts.parts["slip"].closing_ms[5]
        here = at.closing & (at.k == 6)
        other_ms = truth.contacts.raw.closing_ms[5] - slip_ms
        lost_ms = (at.time_s - at.shaft_s)[here] * 1e3 - other_ms - at.scatter_ms[here]
        assert stats.kstest(lost_ms, "expon", args=(0, slip_ms)).pvalue > 1e-3


def test_warming_begins_and_ends_at_its_units():
    for seed in SOME:
        _, truth = MACHINES["warming"].line(seed)
        units_ms = truth.local_units_ms()
        assert units_ms[0] == pytest.approx(truth.drive.unit_begin_ms, rel=4e-4)
        assert units_ms[-1] == pytest.approx(truth.drive.unit_end_ms, rel=4e-4)
        assert 0.1 < abs(truth.drive.drift_percent) < 1.1
        assert np.sign(truth.drive.drift_percent) == np.sign(units_ms[0] - units_ms[-1])


def test_same_seed_same_line_whatever_records_it():
    for instrument in NAMES:
        one, other = (MACHINES["bouncing"](2, instrument) for _ in range(2))
        edges = MACHINES["bouncing"](2)
        assert np.array_equal(one.truth.instants.time_s, edges.truth.instants.time_s)
        same = (one.samples, other.samples) if one.samples is not None else (one.edges_s, other.edges_s)
        assert np.array_equal(*same)
    assert not np.array_equal(MACHINES["healthy"](1).edges_s, MACHINES["healthy"](2).edges_s)


def test_worlds_import_nothing_of_the_program():
    for path in (Path(__file__).parent / "line").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = (
                [node.module or ""]
                if isinstance(node, ast.ImportFrom)
                else [a.name for a in getattr(node, "names", []) if isinstance(node, ast.Import)]
            )
            assert not any(name.split(".")[0] in ("tapewright", "scipy") for name in names), path.name
