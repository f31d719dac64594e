"""Outside check: ngspice, a general circuit simulator. Floors: current within 0.5 %, instants within 0.05 ms."""

import numpy as np
import pytest

from coil.ngspice_witness import arrivals, draw, solve
from tapewright.coil.armature import moves
from tapewright.coil.drive.response import Bench, run_schedule

CIRCUITS = 30
LIMITED = 4


def compare(case, folder, diode="ideal"):
    """Return the largest difference in per cent of the largest current, and the instants of both."""
    time, current, volts = solve(case, folder, diode)
    trace = run_schedule(Bench(case.drive, case.end_s / 4), case.switchings, case.end_s)
    grid = np.linspace(0, case.end_s, 6000)[:-1]
    apart = np.abs(trace.sample(grid)["coil_a"] - np.interp(grid, time, current)).max() / np.abs(current).max()
    theirs = arrivals(time, current, case.drive.coil.pull_in_a, case.drive.coil.drop_out_a)
    ours = moves(case.drive, trace.segments, attracted=False)
    return apart * 100, theirs, ours, volts.max(), trace.highest("switch_v")


CASES = [*((seed, False) for seed in range(CIRCUITS)), *((seed, True) for seed in range(LIMITED))]


@pytest.mark.slow
@pytest.mark.parametrize(("seed", "limited"), CASES)
def test_current_and_instants_are_those_of_the_simulator(seed, limited, tmp_path):
    apart, theirs, ours, their_peak, our_peak = compare(draw(seed, limited=limited), tmp_path)
    assert apart < 0.5
    assert [attracted for _, attracted in theirs] == [move.attracted for move in ours]
    assert theirs, "a circuit in which nothing moves proves nothing"
    late = [abs(at - move.at_s) for (at, _), move in zip(theirs, ours, strict=True)]
    assert max(late) < 0.05e-3
    assert our_peak == pytest.approx(their_peak, rel=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, 8, 15])
def test_a_real_diode_curve_is_met_by_a_fixed_drop_within_a_few_percent(seed, tmp_path):
    case = draw(seed)
    _, theirs, ours, _, _ = compare(case, tmp_path, "real")
    released = [(at, move.at_s) for (at, _), move in zip(theirs, ours, strict=False) if not move.attracted]
    assert released
    for real, fixed in released:
        opened = max(time for time, closed in case.switchings if not closed and time <= real)
        assert fixed - opened == pytest.approx(real - opened, rel=0.15)
