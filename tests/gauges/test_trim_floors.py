"""Trim on many practice machines: how many moves, and whether "90 % sure" lands nine times in ten."""

import numpy as np
import pytest

from fakes.restorer import follow_advice, turn_one_after_the_other
from tapewright.gauges.trim.advice import advise
from tapewright.gauges.trim.problem import Knob, Problem, Seen, Target, Trial
from tapewright.practice.adjusters import random_mechanism

MACHINES = 60
#: machines of several sorts, so that nothing is tuned to one: gauge steps or numbers, straight or bent, quiet or rough
SORTS = ({}, {"cross": (1.5, 3.0)}, {"bend": 0.25}, {"noise": 0.06, "play": 0.08}, {"gauge_step": 0.0})


@pytest.mark.slow
def test_two_coupled_screws_and_honest_odds():
    moves, promises, falsely = [], [], 0
    for seed in range(MACHINES):
        rng = np.random.default_rng([77, seed])
        machine = random_mechanism(rng, 2, 2, **SORTS[seed % len(SORTS)])
        log = follow_advice(machine, rng)
        assert log.state == "done", seed
        moves.append(log.moves)
        promises += [(sure, inside) for state, sure, inside in log.promises if state == "move"]
        falsely += not log.inside
    assert np.median(moves) <= 3
    assert max(moves) <= 6
    assert falsely <= 0.05 * MACHINES
    high = np.array([(sure, inside) for sure, inside in promises if sure >= 0.6])
    # over all moves it believed in, as many land as it said: within three standard deviations of a fair coin's; up to
    # ten points more, since a move that no other reading confirms is not called surer than 88 % (a slip would spoil it)
    said, landed = high[:, 0].mean(), high[:, 1].mean()
    spread = np.sqrt((high[:, 0] * (1 - high[:, 0])).sum()) / len(high)
    assert -3 * spread - 0.02 < landed - said < 3 * spread + 0.1, (said, landed, len(high))
    assert len(high) >= 30


@pytest.mark.slow
def test_one_screw_after_the_other_needs_far_more():
    one_by_one, advised = [], []
    for seed in range(12):
        machine = random_mechanism(np.random.default_rng([78, seed]), 2, 2, cross=(1.5, 3.0))
        one_by_one.append(turn_one_after_the_other(machine, np.random.default_rng(seed)).moves)
        advised.append(follow_advice(machine, np.random.default_rng(seed)).moves)
    assert np.mean(one_by_one) > 2 * np.mean(advised), (np.mean(one_by_one), np.mean(advised))


def settle_speed(seed):
    """Supply voltage to unit length, slightly curved (a power law), truth known: moves until done, and truth then."""
    rng = np.random.default_rng([79, seed])
    power, right = rng.uniform(0.4, 1.3), rng.uniform(90, 120)
    volts, trials = right * (1 + rng.uniform(-0.05, 0.05)), []
    while len(trials) < 9:
        unit = 22.0 * (right / volts) ** power
        trials.append(Trial((volts,), (Seen(unit + 0.005 * rng.standard_normal()),)))
        target = Target("unit", "ms", 22 * 0.998, 22 * 1.002, 0.005)
        advice = advise(Problem((Knob("supply", "V", 8.0),), (target,), tuple(trials)))
        if advice.state in ("done", "cannot"):
            return len(trials) - 1, advice.state, abs(unit / 22.0 - 1)
        volts += advice.move.get("supply", 0.0)
    return len(trials), "open", abs(unit / 22.0 - 1)


def test_supply_voltage_to_unit_length_in_three_moves():
    for seed in range(30):
        moves, state, off = settle_speed(seed)
        assert (state, moves <= 3, off < 0.002) == ("done", True, True), (seed, moves, state, off)
