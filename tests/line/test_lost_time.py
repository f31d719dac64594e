"""Time missing from a recording: seen by a steady sender's step, never named for pauses, hunting or keying by hand."""

from dataclasses import replace

import numpy as np
import pytest

from tapewright.alphabets import ITA2, encode
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.recordings.capture import RawEdges

UNIT_S = 0.02
CODES = encode("HERON AND PETREL LIE AT THE QUAY " * 2, ITA2)


def line(pauses_units, codes=CODES):
    """Compose edges: start, five elements, stop, then on; the pause after each character is given."""
    at, times, levels = 0.3, [], []
    for code, pause in zip(codes, pauses_units, strict=True):
        was = "1"
        for k, level in enumerate("0" + code + "1"):
            if level != was:
                times.append(at + k * UNIT_S)
                levels.append(level == "1")
            was = level
        at += (6 + pause) * UNIT_S
    return RawEdges(np.array(times), np.array(levels), np.full(len(times), 1e-5), True, 0.0, at)


def cut(edges, begin_s, lost_s):
    """Take a piece out of the recording, as a recorder does that loses samples."""
    keep = (edges.times_s < begin_s) | (edges.times_s >= begin_s + lost_s)
    times = np.where(edges.times_s >= begin_s, edges.times_s - lost_s, edges.times_s)[keep]
    levels = edges.level_after[keep]
    real = np.concatenate([[not levels[0]], levels[1:] != levels[:-1]])  # a level that only came back is no edge
    return replace(
        edges, times_s=times[real], level_after=levels[real], u_s=edges.u_s[keep][real], end_s=edges.end_s - lost_s
    )


def said(edges):
    result = measure_line(edges, LineSettings(ITA2, nominal_baud=50.0))
    (doubt,) = [s for s in result.suspicions if s.suspicion == "time missing from the recording"] or [None]
    return doubt, result


@pytest.mark.parametrize("lost_ms", [3, 10, 30, 60])
@pytest.mark.parametrize("begin_s", [1.31, 2.48, 3.333, 4.805])
def test_a_gap_is_named_with_its_place_and_its_length(begin_s, lost_ms):
    doubt, result = said(cut(line([1.5] * len(CODES)), begin_s, 1e-3 * lost_ms))
    assert doubt is not None
    assert f"({lost_ms}.0 ms)" in doubt.evidence
    noted = [c.start_s for c in result.characters if any("time is missing" in note for note in c.notes)]
    assert min(noted) - 0.16 <= begin_s <= max(noted) + 0.16


def hunting(n):
    return 1.5 + 0.09 * np.sin(np.arange(n) * 0.7)


PAUSES = {
    "steady": lambda n, _: np.full(n, 1.5),
    "hunting by 1.2 %": lambda n, _: hunting(n),
    "a rest now and then": lambda n, rng: np.where(rng.random(n) < 0.1, rng.uniform(2, 60, n), 1.5),
    "keyed by hand": lambda n, rng: rng.uniform(1.5, 20, n),
    "keyed by hand at nearly full speed": lambda n, rng: 1.42 + rng.exponential(0.4, n),
    "stops of one and two in turn": lambda n, _: 1.0 + np.arange(n) % 2,
    "jitter of 2 % of a unit": lambda n, rng: 1.5 + rng.normal(0, 0.02, n),
}


@pytest.mark.parametrize("kind", PAUSES)
def test_nothing_is_said_of_a_whole_recording(kind):
    for seed in range(5):
        doubt, _ = said(line(PAUSES[kind](len(CODES), np.random.default_rng(seed))))
        assert doubt is None, (seed, doubt)


def test_a_single_character_proves_no_speed():
    result = measure_line(line([1.5], ["10101"]), LineSettings(ITA2, nominal_baud=50.0))
    assert len(result.codes) == 1
    assert not result.speed.proven
    assert "single character" in result.speed.why
