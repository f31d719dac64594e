"""Did it move? Converters of 8 to 12 bits, quiet and noisy; coils beside a capacitor; what is no coil current at all.

Truth: the exponential of a coil at rest (any textbook), a motion laid down beforehand and solved by ngspice
(moving_inductance.py), the series circuit of coil, resistor and capacitor solved by scipy.
"""

import shutil
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from coil.moving_inductance import Motion, solve
from tapewright.coil.converter import converter_step, noise_of
from tapewright.coil.measure import Loop, read_current
from tapewright.terminal.run import run

LEVEL, OHM, HENRY, RATE = 0.12, 200.0, 1.4, 10_000.0


def converted(current, bits, noise, seed):
    """Return what a converter of so many bits over 1.6 times the level makes of a current."""
    rng = np.random.default_rng(seed)
    noisy = current + rng.normal(0, noise * LEVEL, current.size)
    if not bits:
        return noisy
    step = 1.6 * LEVEL / 2**bits
    return np.round(noisy / step + rng.uniform()) * step


def at_rest(rate=RATE, closings=2):
    """Return the current of a coil whose armature does not move, opened into a diode."""
    times, tau = np.arange(int(0.2 * closings * rate)) / rate, HENRY / OHM
    since = times % 0.2 - 0.02
    top = LEVEL * -np.expm1(-0.08 / tau)
    rising, falling = LEVEL * -np.expm1(-np.clip(since, 0, None) / tau), top * np.exp(-(since - 0.08) / tau)
    return np.where(since < 0, 0, np.where(since < 0.08, rising, falling))


@pytest.fixture(scope="module")
def moving(tmp_path_factory):
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed")
    return solve(Motion(), RATE, tmp_path_factory.mktemp("ngspice"))


@pytest.mark.parametrize("bits", [0, 8, 10, 12])
@pytest.mark.parametrize("noise", [0.0, 0.0005, 0.002, 0.01])
def test_a_staircase_is_no_movement(bits, noise):
    read = read_current(converted(at_rest(), bits, noise, 100 * bits + int(1e5 * noise)), RATE, Loop(24.0)).coil
    assert read.moved is False
    assert read.resistance_ohm.value == pytest.approx(OHM, rel=0.003)
    assert read.inductance_h.value == pytest.approx(HENRY, rel=0.02)
    assert abs(read.resistance_ohm.value - OHM) < 3 * read.resistance_ohm.u


@pytest.mark.parametrize(("bits", "noise"), [(8, 0.0), (8, 0.003), (10, 0.0), (0, 0.005)])
def test_a_movement_is_seen_through_a_staircase(moving, bits, noise):
    read = read_current(converted(moving, bits, noise, 7), RATE, Loop(24.0)).coil
    assert read.moved is True
    assert read.resistance_ohm.value == pytest.approx(OHM, rel=0.003)
    landing = read.landing_ms
    assert landing.value is None or abs(landing.value - 7.5) < 3 * landing.u


@pytest.mark.parametrize("farad", [0.1e-6, 0.47e-6])
@pytest.mark.parametrize("moves", [False, True])
def test_a_coil_that_rings_with_its_capacitor_is_read(moving, farad, moves):
    # a resistor and a capacitor across the contact: on opening the coil rings with them, and the current turns round
    current = (moving if moves else at_rest(closings=1)).copy()
    off = int(0.1 * RATE)
    henry, ohm = (2.0 if moves else HENRY), OHM + 220.0
    times = np.arange(current.size - off) / RATE

    def rates(_, state):
        return [(24.0 - ohm * state[0] - state[1]) / henry, state[0] / farad]

    rung = solve_ivp(rates, (0, times[-1]), [current[off - 1], 0.0], t_eval=times, rtol=1e-8, atol=1e-10)
    current[off:] = rung.y[0]
    assert current.min() < -0.1 * LEVEL
    read = read_current(converted(current, 0, 0.004, 3), RATE, Loop(24.0)).coil
    assert read.moved is moves
    assert len(read.closures) == 1
    assert read.resistance_ohm.value == pytest.approx(OHM, rel=0.003)


def test_a_closing_that_cannot_be_judged_is_counted(moving):
    noisy = converted(np.concatenate([at_rest(closings=1), at_rest(closings=2)]), 0, 0.003, 5)
    hidden = noisy.copy()
    hidden[int(0.2 * RATE) :] += np.random.default_rng(1).normal(0, 0.15 * LEVEL, noisy.size - int(0.2 * RATE))
    read = read_current(hidden, RATE, Loop(24.0)).coil
    judged = [closure.moved for closure in read.closures]
    if judged.count(None) * 2 >= len(judged):
        assert read.moved is None
    assert any("could not be judged" in note or "cannot tell" in note for note in read.notes)


def test_the_steps_of_a_converter_are_found():
    quiet, noisy = (converted(at_rest(), 8, noise, 1) for noise in (0.0, 0.02))
    assert converter_step(quiet) == pytest.approx(1.6 * LEVEL / 256, rel=1e-6)
    assert converter_step(np.round(quiet, 6)) == pytest.approx(1.6 * LEVEL / 256, rel=1e-2)
    assert converter_step(converted(at_rest(), 0, 0.01, 1)) == 0
    assert noise_of(quiet).coarse == pytest.approx(0.8 * LEVEL / 256, rel=0.05)
    # noise of three steps dithers the staircase away
    assert noise_of(noisy).coarse < 1e-6 * LEVEL
    assert noise_of(noisy).sigma == pytest.approx(0.02 * LEVEL, rel=0.1)


def refused(capsys, tmp_path, samples):
    np.savetxt(tmp_path / "x.csv", np.column_stack([np.arange(samples.size) / RATE, samples]), delimiter=",")
    code = run(["drive", "read", str(tmp_path / "x.csv"), "--supply", "24"])
    return code, capsys.readouterr()


def test_a_line_signal_is_refused_in_one_sentence(capsys, tmp_path):
    bits = np.random.default_rng(1).integers(0, 2, 120)
    signal = np.repeat(bits, 200) * 60.0 + np.random.default_rng(2).normal(0, 0.3, 24_000)
    code, said = refused(capsys, tmp_path, signal)
    assert code == 4
    assert said.out == ""
    assert "line signal" in said.err
    assert len(said.err.strip().splitlines()) == 1


def test_a_record_cut_off_at_the_top_is_said(capsys, tmp_path):
    code, said = refused(capsys, tmp_path, np.minimum(converted(at_rest(), 0, 0.003, 2), 0.6 * LEVEL))
    assert code == 3
    assert "cut off at the top" in said.out


def test_a_stuck_armature_is_outside(capsys, tmp_path):
    code, said = refused(capsys, tmp_path, converted(at_rest(), 8, 0.0, 4))
    assert code == 1
    assert "did not move" in said.out


def test_a_motion_laid_down_is_a_motion(tmp_path):
    # the witness itself against the textbook: at rest it rises to 63.2 % in L / R
    if shutil.which("ngspice") is None:
        pytest.skip("ngspice is not installed")
    still = solve(replace(Motion(), moves=False, on_s=0.02), RATE, tmp_path)
    assert still[int(0.027 * RATE)] / LEVEL == pytest.approx(0.63212, abs=2e-3)
