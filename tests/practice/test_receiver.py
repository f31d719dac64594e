"""The practice receiver prints what the geometry of its look says (margin (1 - w) / 2, derived in the reference)."""

import numpy as np
import pytest

from tapewright.practice.keying import Keying
from tapewright.practice.motor import Motor
from tapewright.practice.receiver import PracticeReceiver, print_codes
from tapewright.practice.transmitter import Transmitter, send

CODES = [format(n, "05b") for n in range(32)] * 2


def prints_right(window, orientation, **sender):
    chance = np.random.default_rng(1)
    line = send(CODES, Transmitter(Motor(0.022), **sender), chance, Keying()).line
    return print_codes(line, PracticeReceiver(0.022, window, orientation), chance) == CODES


@pytest.mark.parametrize("window", [0.0, 0.2, 0.3])
def test_orientation_range_is_one_less_the_window(window):
    half = (1 - window) / 2
    for side in (-1, 1):
        assert prints_right(window, side * (half - 0.005))
        assert not prints_right(window, side * (half + 0.02))


def test_marking_bias_takes_from_the_late_end():
    """Marking bias moves space-to-mark instants early by b: the late end of the range shrinks by b."""
    assert prints_right(0.2, 0.295, bias_s=0.1 * 0.022)
    assert not prints_right(0.2, 0.32, bias_s=0.1 * 0.022)
    assert prints_right(0.2, -0.395, bias_s=0.1 * 0.022)
