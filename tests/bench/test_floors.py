"""What the floors by the clock rest on, in processor time: a line of 60 s at 1 MS/s, a tape of 12 Mpx, a long trace.

The floors are 2 s, 3 s and "at once" in a browser on two quiet cores. What the server works for each of them is held
against a fixed piece of work on the same machine at the same moment (yardstick.py). The room left is for other
machines and for work beside it, which between them have moved a cost threefold; a copy or a step of Python for every
sample does not hide in it.
"""

import wave

import cv2
import numpy as np
import pytest
from tests.bench.yardstick import in_yardsticks

from tapewright.bench.measuring import SORTS, measure
from tapewright.bench.traces.sampled import take_samples
from tapewright.recordings.edges.clock import RegularClock
from tapewright.terminal.run import run

RATE_HZ, LINE_S, UNIT_S, LATE_S = 1_000_000, 60, 0.022, 0.0015
PIXELS, SAMPLES, COLUMNS = 12_000_000, 100_000_000, 3840
#: in yardsticks; on two quiet machines 3.0 to 3.4, 4.0 to 6.0 and 1.3 to 1.9, once 4.3 for the trace on a busy one;
#: a window took 0.01, a millisecond, which is too little to be exact
MOST = {"line": 9.0, "tape": 12.0, "trace": 6.0, "window": 0.05}


def recording(path):
    """Write RYRY by hand, contact 3 closing late, with a noise of some steps: none of the program's own senders."""
    codes = [(0, 1, 0, 1, 0), (1, 0, 1, 0, 1)]  # R and Y of ITA2, element 1 first
    levels, lengths = [1], [0.3]
    for n in range(int((LINE_S - 1) / (7.5 * UNIT_S))):
        bits = (0, *codes[n % 2], 1)
        for k, bit in enumerate(bits):
            closes_late = k == 3 and bit and not bits[2]
            lengths[-1] += LATE_S * closes_late
            levels.append(bit)
            lengths.append(UNIT_S * (1.5 if k == 6 else 1.0) - LATE_S * closes_late)
    edges = np.rint(np.cumsum(lengths) * RATE_HZ).astype(np.int64)
    counts = np.diff(edges, prepend=0)
    counts[-1] += LINE_S * RATE_HZ - counts.sum()
    samples = np.repeat(np.where(levels, 200, 40).astype(np.uint8), counts)
    noise = np.random.default_rng(7).integers(-4, 5, RATE_HZ).astype(np.int8)
    samples.reshape(LINE_S, RATE_HZ)[:] += noise.view(np.uint8)  # wraps round, so adds what is negative too
    with wave.open(str(path), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(1)
        out.setframerate(RATE_HZ)
        out.writeframes(samples.tobytes())


@pytest.mark.slow
def test_a_line_of_a_minute_at_a_million_samples_a_second(tmp_path, record_property):
    recording(tmp_path / "line.wav")
    said, path = [], tmp_path / "line.wav"
    [took] = in_yardsticks(lambda: said.append(measure(SORTS["line"], path, {"nominal": "45.45"}, lambda _: None)))
    record_property("yardsticks", took)
    assert [finding["part"] for finding in said[0]["findings"]] == ["contact 3"]
    assert said[0]["findings"][0]["what"].startswith("closes 1.5000 ±")
    assert took < MOST["line"]


@pytest.mark.slow
def test_a_tape_of_twelve_million_pixels(tmp_path, record_property):
    path = tmp_path / "tape.png"
    run(["tape", "practice", "THE QUICK BROWN FOX ", "--repeat", "4", "--dpi", "300", "-o", str(path)])
    tape = cv2.imread(str(path), cv2.IMREAD_COLOR)
    below = max(0, -(-PIXELS // tape.shape[1]) - tape.shape[0])
    grown = cv2.copyMakeBorder(tape, 0, below, 0, 0, cv2.BORDER_CONSTANT, value=tape[2, 2].tolist())
    cv2.imwrite(str(path), grown)
    assert grown.shape[0] * grown.shape[1] >= PIXELS
    said = []
    [took] = in_yardsticks(lambda: said.append(measure(SORTS["tape"], path, {"dpi": 300.0}, lambda _: None)))
    record_property("yardsticks", took)
    assert "THE QUICK BROWN FOX" in str(said[0])
    assert took < MOST["tape"]


class Drawn:
    """Samples as they lie in a file of one byte each."""

    def __init__(self, samples):
        self.samples, self.count = samples, samples.size

    def read(self, first, count):
        return [self.samples[first : first + count]]


@pytest.mark.slow
def test_a_trace_of_a_hundred_million_samples(tmp_path, record_property):
    samples = np.repeat(np.random.default_rng(1).integers(9, 200, SAMPLES // 10_000).astype(np.uint8), 10_000)
    samples[61_803_398] = 255
    made = []

    def look_at_it_all():
        number = len(made)
        made.append(take_samples(Drawn(samples), RegularClock(1e-6), tmp_path / f"samples{number}", lambda _: None))
        made[-1].window(0.0, 100.0, COLUMNS)

    [took] = in_yardsticks(look_at_it_all)
    trace, *others = made
    windows = in_yardsticks(*(lambda s=span: trace.window(50.0, 50.0 + s, COLUMNS) for span in (0.01, 1.0, 50.0)))
    whole = trace.window(0.0, 100.0, COLUMNS)
    trace.close()
    for other in others:
        other.close()
    record_property("yardsticks", (took, max(windows)))
    assert whole.low.size <= COLUMNS
    assert whole.high.max() == 255, "a single sample among 1e8 is seen"
    assert took < MOST["trace"]
    assert max(windows) < MOST["window"]
