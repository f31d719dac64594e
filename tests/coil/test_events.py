"""What a recording shows beside the landing: the hop after it, and the armature's way back; by coils not of our making.

Truth: the events of scipy's solver in other_coil.py. A stuck armature has no way back, and one that does not rebound
makes no hop.
"""

from dataclasses import replace

import numpy as np
import pytest

from tapewright.coil.measure import Loop, read_current

from .other_coil import draw_coil, operate

RATE_HZ, NOISE, OPERATIONS = 10_000.0, 0.01, 3


def recorded(rng, coil):
    """Return what is read of some operations, and for each when it was switched and what was hit when."""
    on_s = max(10 * coil.closed_h / (coil.coil_ohm + coil.series_ohm), 0.03)
    off_s = max(0.03, 6 * coil.closed_h / coil.coil_ohm)
    times = np.arange(int((OPERATIONS * (on_s + off_s) + 0.02) * RATE_HZ)) / RATE_HZ
    current, truth = rng.normal(0, NOISE * coil.level_a, times.size), []
    for number in range(OPERATIONS):
        begin = 0.01 + number * (on_s + off_s) + rng.uniform(0, 2e-4)
        hits = []
        piece, _ = operate(coil, begin, begin + on_s, min(begin + on_s + off_s, times[-1]), times, hits)
        current += piece
        truth.append((begin, begin + on_s, hits))
    return read_current(current, RATE_HZ, Loop(coil.volts, None, coil.series_ohm)).coil, truth


@pytest.mark.slow
def test_the_way_back_under_a_plain_diode():
    rng, told, seen, stuck = np.random.default_rng(21), [], 0, 0
    for number in range(8):
        coil = replace(draw_coil(rng, stuck=number % 4 == 3), kick_v=0.7)
        signature, truth = recorded(rng, coil)
        for report, (_, off, hits) in zip(signature.closures, truth, strict=True):
            back = [at for where, at in hits if where == "stop" and at > off]
            seen += bool(back)
            if report.release_ms.value is not None:
                stuck += coil.stuck
                told.append(abs(report.release_ms.value - 1e3 * (back[0] - off)) <= 2 * report.release_ms.u)
    assert stuck == 0
    assert len(told) > 0.5 * seen
    assert np.mean(told) > 0.9


@pytest.mark.slow
def test_a_hop_is_found_where_one_is_and_not_where_none_is():
    rng, told, seen, wrong = np.random.default_rng(23), [], 0, 0
    for number in range(8):
        coil = replace(draw_coil(rng, stuck=False), rebound=0.0 if number % 2 else 0.5)
        signature, truth = recorded(rng, coil)
        for report, (_, off, hits) in zip(signature.closures, truth, strict=True):
            pole = [at for where, at in hits if where == "pole" and at < off]
            hop_ms = 1e3 * (pole[1] - pole[0]) if len(pole) > 1 else 0.0
            seen += hop_ms > 0.5
            bounce = report.bounce_ms
            if bounce.value is not None:
                wrong += hop_ms == 0.0
                told.append(abs(bounce.value - hop_ms) <= 2 * bounce.u)
    assert wrong == 0
    assert len(told) > 0.4 * seen
    assert np.mean(told) > 0.8
