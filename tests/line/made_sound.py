"""A line as a sound card records it, made with scipy.signal: the truth for the tests of AC coupling."""

import numpy as np
from scipy import signal


def keyed_line(characters=30, *, unit_s=0.022, lead_s=0.3, seed=1, bounce_s=0.0, bias=0.0, pause_s=0.3):
    """Random five-unit characters with pauses; give the instants of all edges (the line idles high) and the end."""
    rng = np.random.default_rng(seed)
    at, level, edges = lead_s, 1, []
    for code in rng.integers(0, 32, characters):
        for k, bit in enumerate([0, *((code >> j) & 1 for j in range(5)), 1]):
            if bit != level:
                instant = at + k * unit_s + (bias if not bit else -bias) * unit_s / 2
                edges.append(instant)
                if bit and bounce_s:
                    edges += list(instant + np.sort(rng.uniform(0.1, 1.0, 2 * rng.integers(1, 3))) * bounce_s)
                level = bit
        at += unit_s * 7.42 + (rng.random() * pause_s if rng.random() < 0.3 else 0.0)
    return np.array(edges), at + 0.2


def sound(
    edges_s, end_s, *, rate_hz=44_100, corners_hz=(5.0,), butterworth=1, amplitude=0.5, noise=0.002, hum=0.0,
    clip=None, offset=0.0, filter_s=0.0, seed=0,
):  # fmt: skip
    """Sample 8 times too fast, high-pass (bilinear transform of the analogue filter), filter down, add noise, hum."""
    fast_hz = rate_hz * 8
    times = np.arange(int(end_s * fast_hz)) / fast_hz
    line = -(np.searchsorted(edges_s, times, side="right") % 2).astype(float)
    if filter_s:
        line = signal.lfilter(*signal.bilinear([1], [filter_s, 1], fast_hz), line)
    for corner in corners_hz:
        b, a = signal.butter(butterworth, 2 * np.pi * corner, "high", analog=True)
        line = signal.lfilter(*signal.bilinear(b, a, fast_hz), line)
    out = signal.resample_poly(line, 1, 8) * amplitude + offset
    out += np.random.default_rng(seed).normal(0, noise, out.size)
    out += hum * np.sin(2 * np.pi * 50 * np.arange(out.size) / rate_hz + 1)
    return out if clip is None else np.clip(out, -clip, clip)
