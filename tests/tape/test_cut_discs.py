"""A hole cut by a flap: the open share is that of the circle's segment, at whatever angle the flap hangs.

The truth is counted from fine points of the disc (no code of the program), the share of a segment from geometry:
(acos c - c sqrt(1 - c^2)) / pi for a chord c radii from the middle.
"""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter

from tapewright.tape.holes import ANGLES, RINGS, fit_cut_discs

POINTS = 161


def cut_disc(chord, turn, blur=0.12):
    """Return openness on rings and angles of a disc that is open beyond a chord, blurred as a camera does."""
    axis = np.linspace(-1.6, 1.6, POINTS)
    x, y = np.meshgrid(axis, axis)
    open_ = ((x**2 + y**2 < 1) & (x * np.cos(turn) + y * np.sin(turn) > chord)).astype(float)
    share = open_.sum() / (x**2 + y**2 < 1).sum()
    seen = gaussian_filter(open_, blur * (POINTS - 1) / 3.2)
    around = 2 * np.pi * np.arange(ANGLES) / ANGLES
    column, line = (
        np.rint((RINGS[:, None] * way(around) + 1.6) * (POINTS - 1) / 3.2).astype(int) for way in (np.cos, np.sin)
    )
    return seen[line, column], share


@pytest.mark.parametrize("chord", [-0.9, -0.6, -0.2, 0.0, 0.3, 0.57, 0.7])
def test_the_open_share_does_not_depend_on_the_angle(chord):
    seen, shares = zip(*(cut_disc(chord, turn) for turn in np.linspace(0, 2 * np.pi, 23)), strict=True)
    found, left, there = fit_cut_discs(np.array(seen), 0.12)
    segment = (np.arccos(chord) - chord * np.sqrt(1 - chord**2)) / np.pi
    assert np.allclose(shares, segment, atol=0.01)
    assert np.abs(found - segment).max() < 0.025
    assert (left / there).max() < 0.1


def test_a_pen_stroke_and_a_speck_are_no_cut_hole():
    axis = np.linspace(-1.6, 1.6, POINTS)
    x, y = np.meshgrid(axis, axis)
    around = 2 * np.pi * np.arange(ANGLES) / ANGLES
    column, line = (
        np.rint((RINGS[:, None] * way(around) + 1.6) * (POINTS - 1) / 3.2).astype(int) for way in (np.cos, np.sin)
    )
    marks = [np.abs(x * np.cos(a) + y * np.sin(a) - b) < 0.2 for a in (0.0, 0.7) for b in (0.0, 0.4, 0.7)]
    marks += [np.hypot(x - 0.2, y) < 0.35, np.hypot(x - 1.0, y) < 0.3]
    seen = np.array([gaussian_filter(mark.astype(float), 6)[line, column] for mark in marks])
    _, left, there = fit_cut_discs(seen, 0.12)
    assert (left / there).min() > 0.25
