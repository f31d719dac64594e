"""What every position of the grid shows: open area, centre, shape, outline.

A position is looked at in its own window, against the paper round it and against the contrast that holes have
near there, so neither shade nor coloured paper nor a stain moves the answer:

    openness = (grey - paper) / (hole - paper)       0 on paper, 1 in an open hole
    open area = sum of openness                      blur moves light about but keeps its sum
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from numpy.lib.stride_tricks import sliding_window_view

from tapewright.pictures.picture import BoolArray, FloatArray, GreyArray, Points
from tapewright.tape.grid import STEPS, Grid
from tapewright.tape.windows import (
    BEYOND_RIM,
    FEED_BEYOND,
    FEED_INNER,
    FEED_WHOLE,
    FEED_WITHIN,
    HOLE,
    INNER,
    RING,
    SAMPLES,
    WHOLE,
    WITHIN_RIM,
    U,
    V,
    Windows,
    ring_and_core,
)

FEED = STEPS.index(0)
#: Rows on either side over which the contrast of holes is taken as the same.
NEAR_ROWS = 10
#: Openness below this counts as paper, above one less this as hole.
CUT_OFF = 0.15


@dataclass(frozen=True, slots=True, eq=False)
class Openings:
    """What every position shows; all shapes (rows, 7), track steps -3 to 3, lengths in grid steps.

    Attributes:
        contrast: level in the middle against the paper, in units of the contrast of a hole.
        area: open area.
        feed_oval: shape (rows,), length along less width across of the feed hole, by its second moments.
        light: area by the sum of the light, without any threshold: for the diameters of whole holes.
        share: open area (by the sum of the light) over that of a clean hole of this strip.
        stretch: Suu - Svv + 2i Suv of the open part, Sxy its second moments about its centre, over the fourth part of
            a clean hole's radius squared: 0 for a disc of any size, wherever it lies and however blurred.
        u: centre of the open part from its place in the grid, along.
        v: the same across.
        inner: share of the middle (radius up to 0.30; feed hole 0.18) that is open.
        rim: share of the outline of a nominal code or feed hole that is open just inside and paper outside.
        spoilt: share of the paper ring that is not paper: writing, dirt, a tear, the tape's edge.
        inside: whether the position lies in the picture.
        hole_contrast: grey levels between paper and hole, as used.
        paper: grey level of the paper round each position.
        clean_area: open area of a clean code hole of this strip (median).
    """

    contrast: FloatArray
    area: FloatArray
    feed_oval: FloatArray
    light: FloatArray
    share: FloatArray
    stretch: Points
    u: FloatArray
    v: FloatArray
    inner: FloatArray
    rim: FloatArray
    spoilt: FloatArray
    inside: BoolArray
    hole_contrast: FloatArray
    paper: FloatArray
    clean_area: float


def look_at_holes(windows: Windows, strip: Grid) -> Openings:
    """Measure every position of a strip."""
    paper, core = ring_and_core(windows)
    sign = 1.0 if strip.light else -1.0
    contrast = sign * (core - paper)
    reference = hole_contrast(contrast, windows.inside)
    scale = sign / reference[..., None]
    # the noise of paper and of hole is cut off alike, so the half-way outline stays where it is
    gain = (scale / (1 - 2 * CUT_OFF)).astype(np.float32)
    zero = (paper[..., None] * gain + CUT_OFF / (1 - 2 * CUT_OFF)).astype(np.float32)
    open_ = windows.grey * gain
    open_ -= zero
    np.clip(open_, 0.0, 1.0, out=open_)
    spoilt = open_[..., RING].mean(axis=-1)
    weight = open_[..., HOLE]
    total = weight.sum(axis=-1)
    safe = np.maximum(total, 1e-6)
    u, v = (weight @ U[HOLE]) / safe, (weight @ V[HOLE]) / safe
    second = weight @ (U + 1j * V)[HOLE].astype(np.complex64) ** 2 / safe - (u + 1j * v) ** 2
    area = total / SAMPLES**2
    light = _light_area(windows, paper, sign / reference)
    inner = open_[..., INNER].mean(axis=-1)
    rim = np.clip(open_[..., WITHIN_RIM] - open_[..., BEYOND_RIM], 0, 1).mean(axis=-1)
    feed = open_[:, FEED]
    inner[:, FEED] = feed[:, FEED_INNER].mean(axis=-1)
    rim[:, FEED] = np.clip(feed[:, FEED_WITHIN] - feed[:, FEED_BEYOND], 0, 1).mean(axis=-1)
    clean = _clean_area(area, spoilt, windows.inside)
    # dirt beside light holes is less than paper, and must not be taken off a hole
    share = light / _clean_area(light, spoilt, windows.inside)
    share = np.where(area > clean / 2, np.maximum(share, area / clean), share)
    return Openings(
        contrast / reference, area, _oval(feed), light, share,
        second / (clean / np.pi / 4), u, v, inner, rim, spoilt,
        windows.inside, reference, paper, clean,
    )


def _oval(feed: npt.NDArray[np.float32]) -> FloatArray:
    """Return length less width of each feed hole; an ellipse is 4 times the standard deviation of its area long."""
    weight = feed[:, FEED_WHOLE]
    total = np.maximum(weight.sum(axis=1), 1e-6)
    spread = []
    for axis in (U[FEED_WHOLE], V[FEED_WHOLE]):
        mean = weight @ axis / total
        spread.append(4 * np.sqrt(np.maximum(weight @ axis**2 / total - mean**2, 0.0)))
    return np.asarray(spread[0] - spread[1])


def _light_area(windows: Windows, paper: FloatArray, scale: FloatArray) -> FloatArray:
    """Return sum((grey - paper) / contrast) over each window, in steps squared; blur leaves this sum as it is."""

    def summed(grey: GreyArray, paper: FloatArray, mask: BoolArray) -> FloatArray:
        return np.asarray(grey[..., mask].sum(axis=-1, dtype=np.int64) - mask.sum() * paper)

    area = summed(windows.grey, paper, WHOLE)
    area[:, FEED] = summed(windows.grey[:, FEED], paper[:, FEED], FEED_WHOLE)
    return np.asarray(area * scale / SAMPLES**2)


def hole_contrast(contrast: FloatArray, inside: BoolArray) -> FloatArray:
    """Return the grey levels between paper and an open hole, shape (rows, 7), from the holes near each row.

    First from the feed holes alone, which are always there; then from the code holes that reach half of that: they
    are larger, so blur leaves their middle at its full level.
    """
    feed = np.where(inside[:, FEED], contrast[:, FEED], np.nan)
    rough = np.maximum(_near_median(feed[:, None], fewest=1), 1.0)
    code = np.delete(np.where(inside, contrast, np.nan), FEED, axis=1)
    code[~(code > 0.55 * rough[:, None])] = np.nan
    ratio = float(np.nanmedian(code / rough[:, None])) if np.isfinite(code).any() else 1.0
    fine = _near_median(code, fewest=4)
    along = np.where(np.isfinite(fine), fine, rough * max(ratio, 1.0))
    return along[:, None] * _shade_across(code / along[:, None])


def _shade_across(ratio: FloatArray) -> FloatArray:
    """Return how the contrast falls off across the tape, shape (rows, 7), about 1: linear, and linearly changing along.

    `ratio`: shape (rows, 6), contrast of punched code positions over that of their row, NaN elsewhere.
    """
    rows = ratio.shape[0]
    x = np.linspace(-1, 1, rows)[:, None]
    every = np.array(STEPS)[None, :]
    step = np.delete(every, FEED, axis=1)
    known = np.isfinite(ratio) & (np.abs(ratio - 1) < 0.4)
    if known.sum() < 12:
        return np.ones((rows, len(STEPS)))
    basis = np.stack([np.broadcast_to(b, ratio.shape)[known] for b in (1.0, step, step * x)], 1)
    keep = np.ones(basis.shape[0], bool)
    fit = np.zeros(3)
    for _ in range(3):
        fit = np.linalg.lstsq(basis[keep], ratio[known][keep], rcond=None)[0]
        off = np.abs(ratio[known] - basis @ fit)
        keep = off <= max(3 * float(np.median(off)), 1e-3)
    return np.asarray(np.clip(fit[0] + fit[1] * every + fit[2] * every * x, 0.6, 1.5))


def _near_median(values: FloatArray, fewest: int) -> FloatArray:
    """Return the median over rows near each row, NaN where fewer than `fewest` values are known."""
    pad = np.full((NEAR_ROWS, values.shape[1]), np.nan)
    near = sliding_window_view(np.vstack([pad, values, pad]), 2 * NEAR_ROWS + 1, axis=0)
    flat = np.sort(near.reshape(values.shape[0], -1), axis=1)
    count = np.isfinite(flat).sum(axis=1)
    middle = flat[np.arange(flat.shape[0]), np.maximum(count - 1, 0) // 2]
    return np.where(count >= fewest, middle, np.nan)


def _clean_area(area: FloatArray, spoilt: FloatArray, inside: BoolArray) -> float:
    """Return the open area of a clean code hole: the median of those that can be no less than most of a hole."""
    nominal = np.pi / 4 * (1.83 / 2.54) ** 2
    code = np.delete(area, FEED, axis=1)
    good = np.delete((spoilt < 0.08) & inside, FEED, axis=1) & (code > 0.6 * nominal)
    return float(np.median(code[good])) if good.sum() >= 3 else nominal
