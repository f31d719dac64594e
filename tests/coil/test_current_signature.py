"""Reading a recorded coil current, on held-out recordings: other coils, other physics, other code (other_coil.py).

Floors at 10 kS/s with 1 % noise: R within 1 %, L within 3 %, landing within 0.1 ms, moved / not moved right in 98 %
of the files with the rest "cannot tell".
"""

from dataclasses import dataclass

import numpy as np
import pytest

from coil.other_coil import draw_coil, operate, recording
from tapewright.coil.coil_recording import prepare
from tapewright.coil.hum import find_hum
from tapewright.coil.measure import Loop, read_current

FILES = 24


@dataclass
class Outcome:
    coil: object
    moved_really: bool
    signature: object
    truth: list


def outcomes(seed, count, **how):
    rng = np.random.default_rng(seed)
    for _ in range(count):
        coil = draw_coil(rng, stuck=bool(rng.random() < 0.4))
        offset, inverted = rng.uniform(-0.15, 0.15), bool(rng.random() < 0.5)
        samples, truth = recording(rng, coil, offset=offset, inverted=inverted, **how)
        loop = Loop(coil.volts, None, coil.series_ohm)
        moved = any(landing is not None for _, landing in truth)
        yield Outcome(coil, moved, read_current(samples, how.get("rate_hz", 10_000.0), loop).coil, truth)


@pytest.fixture(scope="module")
def held_out():
    return list(outcomes(2026, FILES))


@pytest.mark.slow
def test_moved_or_not_is_never_wrong_and_seldom_untold(held_out):
    answers = [(o.moved_really, o.signature.moved) for o in held_out]
    assert {really for really, _ in answers} == {True, False}
    assert not [1 for really, said in answers if said is not None and said is not really]
    assert sum(said is None for _, said in answers) <= 0.02 * FILES + 1e-9


@pytest.mark.slow
def test_resistance_and_inductance_meet_the_floors(held_out):
    for o in held_out:
        loop_ohm = o.coil.coil_ohm + o.coil.series_ohm
        assert (o.signature.resistance_ohm.value + o.coil.series_ohm) / loop_ohm == pytest.approx(1, abs=0.01)
        assert o.signature.inductance_h.value == pytest.approx(o.coil.open_h, rel=0.03)


@pytest.mark.slow
def test_landings_meet_the_floor_or_are_not_told(held_out):
    of_files, single, untold = [], [], 0
    for o in held_out:
        if not o.signature.moved:
            continue
        landings = [(land - on) * 1e3 for on, land in o.truth]
        for report, true in zip(o.signature.closures, landings, strict=True):
            landing = report.landing_ms
            if landing.value is None:
                untold += 1
                assert "cannot tell when" in landing.how
            else:
                single.append(landing.value - true)
        if o.signature.landing_ms.value is not None:
            of_files.append(o.signature.landing_ms.value - np.mean(landings))
    assert len(of_files) > 10
    assert np.mean(np.abs(of_files) < 0.1) >= 0.98
    assert np.mean(np.abs(single) < 0.1) >= 0.97
    # withholding everything would pass the line above
    assert untold <= 0.15 * (untold + len(single))


@pytest.mark.slow
def test_a_landing_that_noise_hides_is_not_told_and_no_doubt_is_wide():
    told, untold = [], 0
    for o in outcomes(31, 8, noise=0.04):
        for report in o.signature.closures:
            landing = report.landing_ms
            untold += report.moved is True and landing.value is None
            if landing.value is not None:
                told.append(2 * landing.u)
    assert untold > 2
    assert all(doubt <= 0.16 for doubt in told)


@pytest.mark.slow
def test_stated_doubts_are_true(held_out):
    inside = {"R": [], "L": [], "landing": []}
    for o in held_out:
        s = o.signature
        inside["R"].append(abs(s.resistance_ohm.value - o.coil.coil_ohm) < 2 * s.resistance_ohm.u)
        inside["L"].append(abs(s.inductance_h.value - o.coil.open_h) < 2 * s.inductance_h.u)
        for report, (on, land) in zip(s.closures, o.truth, strict=True):
            landing = report.landing_ms
            if landing.value is not None and land is not None:
                inside["landing"].append(abs(landing.value - (land - on) * 1e3) < 2 * landing.u)
    # 95 % of 24 (or 45) trials: below 87 % would happen to a true statement about once in forty
    for name, hits in inside.items():
        assert np.mean(hits) > 0.87, name


@pytest.mark.slow
@pytest.mark.parametrize("corner_hz", [0.5, 2.0, 20.0])
def test_ac_coupled_recordings_are_not_told(corner_hz):
    for o in outcomes(int(corner_hz * 10), 6, corner_hz=corner_hz):
        assert o.signature.moved is None
        assert o.signature.resistance_ohm.value is None
        assert o.signature.landing_ms.value is None
        assert any("AC coupling" in note for note in o.signature.notes)


@pytest.mark.slow
def test_too_much_noise_is_never_a_wrong_answer():
    answers = [(o.moved_really, o.signature.moved) for o in outcomes(7, 12, noise=0.08)]
    assert not [1 for really, said in answers if said is not None and said is not really]


@pytest.mark.slow
@pytest.mark.parametrize("percent", [0.3, 1.0, 3.0, 10.0])
def test_mains_hum_is_never_a_wrong_answer(percent):
    rng, told = np.random.default_rng(int(percent * 10)), 0
    for _ in range(8):
        coil = draw_coil(rng, stuck=bool(rng.random() < 0.45))
        samples, truth = recording(rng, coil, operations=int(rng.integers(1, 4)))
        turns = rng.choice([50, 60]) * (1 + rng.normal(0, 1e-3)) * np.arange(samples.size) / 10_000.0
        hum = sum(
            share * np.sin(2 * np.pi * (harmonic * turns + rng.random()))
            for harmonic, share in ((1, 1.0), (2, 0.1), (3, 0.25))
        )
        loop = Loop(coil.volts, None, coil.series_ohm)
        s = read_current(samples + percent / 100 * coil.level_a * hum, 10_000.0, loop).coil
        assert s.moved in (None, any(landing is not None for _, landing in truth))
        if s.resistance_ohm.value is not None:
            told += 1
            assert s.resistance_ohm.value == pytest.approx(coil.coil_ohm, rel=0.015)
        if percent >= 3:
            assert any("mains hum" in note for note in s.notes) or s.moved is None
    assert told >= 2


def test_hum_is_found_at_its_frequency_and_not_without_it():
    # the rise of a plain coil, 63.2 % in L / R, and a sine of known size: nothing here comes from the code under test
    times = np.arange(4000) / 10_000.0
    rise = np.where((times > 0.1) & (times < 0.3), -np.expm1(-np.clip(times - 0.1, 0, None) / 0.005), 0.0)
    noise = np.random.default_rng(8).normal(0, 0.002, times.size)
    assert find_hum(prepare(rise + noise, 10_000.0)) is None
    for hz in (50.1, 59.9):
        hum = find_hum(prepare(rise + noise + 0.03 * np.sin(2 * np.pi * hz * times), 10_000.0))
        assert hum is not None
        assert hum.hz == pytest.approx(hz, abs=0.15)
        assert hum.peak_a == pytest.approx(0.03, abs=0.002)
        assert hum.sure


@pytest.mark.slow
def test_fast_recordings_read_as_well():
    for o in outcomes(11, 3, rate_hz=100_000.0, operations=2):
        assert o.signature.moved is o.moved_really
        assert o.signature.inductance_h.value == pytest.approx(o.coil.open_h, rel=0.03)


def test_noise_alone_holds_no_closing():
    s = read_current(np.random.default_rng(1).normal(0, 1, 2000), 10_000.0, Loop(12.0)).coil
    assert s.moved is None
    assert s.closures == ()


@pytest.mark.parametrize("samples", [np.zeros(500), np.ones(500), np.zeros(3), np.arange(500.0)])
def test_nothing_to_read_is_said(samples):
    s = read_current(samples, 10_000.0, Loop(12.0)).coil
    assert s.moved is None
    assert s.notes


def test_without_the_supply_there_is_no_resistance_but_a_landing():
    coil = draw_coil(np.random.default_rng(3), stuck=False)
    samples, truth = recording(np.random.default_rng(4), coil, operations=1)
    s = read_current(samples, 10_000.0, Loop()).coil
    assert s.resistance_ohm.value is None
    assert s.inductance_h.value is None
    assert s.moved is True
    assert s.landing_ms.value == pytest.approx((truth[0][1] - truth[0][0]) * 1e3, abs=0.2)
    assert any("--supply" in note for note in s.notes)


def test_the_held_out_coil_is_a_coil():
    # the witness itself against the textbook: a stuck coil rises to 63.2 % in L / R
    coil = draw_coil(np.random.default_rng(5), stuck=True)
    tau = coil.open_h / (coil.coil_ohm + coil.series_ohm)
    current, landing = operate(coil, 0.0, 0.1, 0.2, np.array([tau]))
    assert landing is None
    assert current[0] / coil.level_a == pytest.approx(0.63212, abs=1e-4)
