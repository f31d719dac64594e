"""A keyed tone's instants, of tones this file makes itself: softly keyed, switched hard, noisy, loud and faint.

Truth is when the tone was switched. The analytic signal of scipy (a general library) is held against the envelope.
"""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import hilbert

from tapewright.line.live.live_edges import LiveEdges
from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.edges.extract import extract
from tapewright.recordings.edges.tone import EnvelopeReader, EnvelopeStream, Tone

from .held import Held


def keyed(rng, rate_hz, tone_hz, unit_s, *, hard=False, noise=0.0, turned=False, size=1.0, offset=0.0):
    """Random characters as a tone; give samples, and when it was switched to what."""
    spans = [level for _ in range(40) for level in (0, *rng.integers(0, 2, 5), 1)]
    units = [0.0, *(1.5 if n % 7 == 6 else 1.0 for n in range(len(spans)))]
    ends = 0.2 + rng.uniform(0, 0.01) + unit_s * np.cumsum(units)
    changes = [(t, level) for t, level, before in zip(ends, spans, [1, *spans], strict=False) if level != before]
    at, high = np.array([t for t, _ in changes]), np.array([level for _, level in changes], bool)
    time = np.arange(int((ends[-1] + 0.2) * rate_hz)) / rate_hz
    on = np.append(1, high)[np.searchsorted(at, time, side="right")].astype(float)
    for t, level in ([] if hard else changes):
        a, b = np.searchsorted(time, [t - 0.5 / tone_hz, t + 0.5 / tone_hz])
        on[a:b] = 0.5 + (0.5 if level else -0.5) * np.sin(np.pi * (time[a:b] - t) * tone_hz)
    wave = np.sin(2 * np.pi * tone_hz * time + rng.uniform(0, 2 * np.pi))
    return size * ((1 - on if turned else on) * wave + noise * rng.normal(size=time.size)) + offset, at, high != turned


def edges_of(samples, rate_hz):
    return extract(Held(samples), RegularClock(1 / rate_hz))[0].edges


@pytest.mark.parametrize(
    ("rate_hz", "tone_hz", "unit_s", "noise", "most_us"),
    [(48_000, 2000, 0.022, 0.0, 5), (48_000, 500, 0.022, 0.0, 20), (44_100, 1275, 0.02, 0.05, 70),
     (8_000, 1800, 0.022, 0.02, 60), (250_000, 2000, 0.022, 0.1, 60), (192_000, 10_000, 0.01, 0.05, 40)],
)  # fmt: skip
@pytest.mark.parametrize("turned", [False, True])
def test_instants_of_a_softly_keyed_tone(rate_hz, tone_hz, unit_s, noise, most_us, turned):
    rng = np.random.default_rng(round(tone_hz))
    samples, at, high = keyed(rng, rate_hz, tone_hz, unit_s, noise=noise, turned=turned)
    found = edges_of(samples, rate_hz)
    assert [s.suspicion for s in found.suspicions] == ["keyed tone"]
    assert f"{tone_hz} Hz" in found.suspicions[0].evidence
    assert found.level_after.tolist() == high.tolist()
    assert 1e6 * np.abs(found.times_s - at).max() < most_us
    assert np.mean(np.abs(found.times_s - at) <= 2 * found.u_s) > 0.95


def test_the_doubt_holds_for_tones_switched_hard_at_any_phase():
    """The phase at which it was switched moves the instant by 1 / (4 pi f) at the most."""
    rng, inside, worst = np.random.default_rng(8), [], 0.0
    for tone_hz in (700.0, 1111.0, 2000.0, 3000.0):
        samples, at, _ = keyed(rng, 48_000, tone_hz, 0.022, hard=True, noise=0.01)
        found = edges_of(samples, 48_000)
        late = found.times_s - at + 0.5 / 48_000  # a sample stands for the half before it too
        inside += list(np.abs(late) <= 2 * found.u_s)
        # half a sample on either side is not known to anybody
        worst = max(worst, (float(np.abs(late).max()) - 0.5 / 48_000) * 4 * np.pi * tone_hz)
    assert np.mean(inside) > 0.95
    assert worst < 1.25


def test_loudness_and_offset_do_not_matter():
    rng = np.random.default_rng(2)
    samples, at, _ = keyed(rng, 48_000, 1500.0, 0.022, noise=0.01)
    for size, offset in ((1e-4, 0.0), (3000.0, 0.0), (1.0, 0.3)):
        found = edges_of(size * samples + offset, 48_000)
        assert np.abs(found.times_s - at).max() < 50e-6
    whole = edges_of(np.round(9000 * samples).astype(np.int16), 48_000)
    assert np.abs(whole.times_s - at).max() < 50e-6


def test_the_envelope_is_that_of_the_analytic_signal():
    samples, _, _ = keyed(np.random.default_rng(3), 48_000, 2000.0, 0.022)
    tone = Tone(2000.0, 48_000.0, 0.0)
    ours = EnvelopeReader(Held(samples), 0, tone)
    values = ours.read(0, ours.count)[0]
    # the analytic signal, seen through the same window
    theirs = np.convolve(np.abs(hilbert(samples)), np.repeat(tone.weights, tone.block) / tone.block, "same")
    places = (np.arange(values.size) * tone.block + tone.centre).astype(int)
    assert np.abs(values - theirs[places])[100:-100].max() < 0.03


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(1, 4000), min_size=1, max_size=12), st.sampled_from([700.0, 2000.0]))
def test_cut_anywhere_it_is_the_same_envelope(cuts, hz):
    rng = np.random.default_rng(5)
    samples, tone = rng.normal(size=sum(cuts)), Tone(hz, 48_000.0, 0.1)
    stream = EnvelopeStream(tone)
    pieces = [stream.feed(piece) for piece in np.split(samples, np.cumsum(cuts)[:-1])]
    whole = EnvelopeReader(Held(samples), 0, tone)
    done = np.concatenate(pieces)
    assert done.size == max(0, whole.count - tone.weights.size // 2)
    assert done == pytest.approx(whole.read(0, whole.count)[0][: done.size], abs=1e-12)
    middle = whole.count // 2
    some = min(5, whole.count - middle)
    all_at_once = whole.read(0, whole.count)[0]
    assert whole.read(middle, some)[0] == pytest.approx(all_at_once[middle : middle + some], abs=1e-12)


@pytest.mark.parametrize(("mark_hz", "space_hz"), [(1445, 1275), (2295, 2125), (2975, 2125), (1270, 1070)])
def test_a_shifted_tone_is_not_taken_for_a_keyed_one(mark_hz, space_hz):
    rng = np.random.default_rng(6)
    levels = np.repeat(rng.integers(0, 2, 300), 960)
    samples = np.sin(2 * np.pi * np.cumsum(np.where(levels, mark_hz, space_hz)) / 48_000)
    found = edges_of(samples, 48_000)
    assert {s.suspicion for s in found.suspicions} == {"a tone in place of levels"}
    assert not found.times_s.size


def test_watched_it_gives_the_same_instants():
    samples, at, _ = keyed(np.random.default_rng(7), 48_000, 2000.0, 0.022, noise=0.02)
    live = LiveEdges(48_000.0)
    hops = [hop for first in range(0, samples.size, 1013) for hop in live.hops(samples[first : first + 1013])]
    hops.append(live.finish())
    times = np.concatenate([hop.times_s for hop in hops])
    seen = at > at[0] + 1.0  # the first second is spent learning the levels
    assert times[-np.count_nonzero(seen):] == pytest.approx(at[seen], abs=60e-6)
    known = [hop for hop in hops if hop.starts_high is not None]
    told = pairwise(known)
    assert all(after.times_s.min(initial=np.inf) > before.until_s for before, after in told), "no edge is told too late"
