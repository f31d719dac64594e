"""A recording without two clean levels is said for what it is: a tone, hum, noise; never a line that never moves."""

import numpy as np
import pytest

from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.edges.extract import extract

from .held import Held

RATE_HZ, UNIT_S = 20_000, 0.02


@pytest.fixture(scope="module")
def levels():
    """Mark and space, 1 and 0, of random characters: start, five elements, a stop of a unit and a half."""
    generator = np.random.default_rng(4)
    spans = [(1, 20)]
    for _ in range(60):
        spans += [(0, 2), *((int(bit), 2) for bit in generator.integers(0, 2, 5)), (1, 3)]
    return np.repeat([level for level, _ in spans], [half * round(UNIT_S * RATE_HZ / 2) for _, half in spans])


def read(samples):
    return extract(Held(samples), RegularClock(1 / RATE_HZ))[0].edges


def said(samples):
    return {s.suspicion for s in read(samples).suspicions}


@pytest.mark.parametrize("hertz", [500, 1500, 3000])
def test_a_keyed_tone_is_taken_apart_and_not_taken_for_levels_that_sag(levels, hertz):
    time = np.arange(levels.size) / RATE_HZ
    edges = read(levels * np.sin(2 * np.pi * hertz * time))
    assert {s.suspicion for s in edges.suspicions} == {"keyed tone"}
    assert edges.times_s == pytest.approx(np.flatnonzero(np.diff(levels)) / RATE_HZ, abs=0.5 / hertz)


def test_a_shifted_tone_is_said(levels):
    phase = np.cumsum(np.where(levels, 1275, 1445)) / RATE_HZ
    assert said(np.sin(2 * np.pi * phase)) == {"a tone in place of levels"}


@pytest.mark.parametrize("hertz", [50, 60])
def test_hum_worth_a_word_is_said_with_its_size(levels, hertz):
    time = np.arange(levels.size) / RATE_HZ
    for peak_to_peak, worth in ((0.0, False), (0.05, False), (0.2, True), (0.3, True)):
        edges = read(levels + peak_to_peak / 2 * np.sin(2 * np.pi * hertz * time + 1))
        found = [s.evidence for s in edges.suspicions if s.suspicion == "mains hum"]
        assert bool(found) == worth
        assert not worth or f"{hertz} Hz lies on the signal, {100 * peak_to_peak:.0f} %" in found[0]


def test_noise_is_no_hum(levels):
    assert said(levels + np.random.default_rng(1).normal(size=levels.size) * 0.06) == set()


def test_what_moves_without_two_levels_is_not_called_a_line_that_never_moves(levels):
    time = np.arange(levels.size) / RATE_HZ
    for samples in (np.sin(2 * np.pi * 50 * time), levels + 0.3 * np.sin(2 * np.pi * 50 * time)):
        edges = read(samples)
        assert {s.suspicion for s in edges.suspicions} == {"no two levels"}
        assert edges.starts_high is None
