"""What the writers of files are given, and the truth they hand back.

The signal is a short piece of a healthy line and three channels beside it, all on one sample clock: LINE in volts,
CLOCK (a square of seven samples), KEY (pressed once) and SPARE (never moves). The line's level is 1 = mark = high.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from worlds.line.instrument import Instrument, Recording, record
from worlds.line.plan import carry_out, ordinary

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Signal:
    """A recording to be written.

    Attributes:
        rate_hz: samples a second; interval_s its inverse.
        begin_s: time of the first sample against the trigger; negative.
        volts: shape (n,), LINE.
        levels: LINE, CLOCK, KEY and SPARE as 0 and 1, each shape (n,).
        recording: the samples with the truth of what was sent.
    """

    rate_hz: float
    begin_s: float
    volts: Floats
    levels: Mapping[str, NDArray[np.int64]]
    recording: Recording

    @property
    def interval_s(self) -> float:
        return 1 / self.rate_hz

    @property
    def times_s(self) -> Floats:
        return self.begin_s + np.arange(len(self.volts)) / self.rate_hz

    def changes(self, *names: str) -> NDArray[np.int64]:
        """Return the samples at which any of the channels changes, the first sample too."""
        moved = np.any([np.diff(self.levels[name], prepend=-1) != 0 for name in names], axis=0)
        return np.nonzero(moved)[0]

    def words(self) -> NDArray[np.int64]:
        """Return the four channels as one number a sample: LINE is bit 0, CLOCK bit 1, KEY bit 2, SPARE bit 3."""
        return sum((self.levels[name] << i for i, name in enumerate(self.levels)), np.zeros(len(self.volts), np.int64))


@dataclass(frozen=True, eq=False)
class Written:
    """A file and what a reader should find in it.

    Attributes:
        path: the file.
        content: "samples" (a value at each time) or "changes" (each value holds until the next time).
        times_s: shape (n,), as written, in s; of the day where the file has times of day; from 0 where it has no begin.
        columns: name to values as written, in V or levels, shape (n,) each; nan where the cell is no number. LINE is
            the line.
        end_s: for changes: when the last value ends, where the file says so.
        time_step_s: how finely times are written.
    """

    path: Path
    content: str
    times_s: Floats
    columns: Mapping[str, Floats]
    end_s: float | None = None
    time_step_s: float = 0.0

    @property
    def since_first_s(self) -> Floats:
        """Times after the first."""
        return self.times_s - self.times_s[0]


def draw_signal(seed: int) -> Signal:
    """Draw a signal of four to ten characters, with 2000 to 8000 samples a second."""
    rng = np.random.default_rng([20, seed])
    plan = ordinary(rng)
    plan.characters, plan.lead_s = int(rng.integers(4, 11)), 0.1
    line, truth = carry_out(plan, "a file")
    rate_hz = float(rng.choice([2000, 4000, 5000, 8000]))
    scope = Instrument("oscilloscope", rate_hz, 0.0, 0.0, 0.2, 4.8, 10, (-1.0, 6.0), noise_v=0.02)
    recording = record(line, truth, scope, rng)
    recording = replace(recording, samples=np.asarray(recording.samples))
    volts = recording.volts
    n = len(volts)
    high = record(line, truth, replace(scope, bits=1, noise_v=0.0), rng).samples
    assert high is not None
    key = np.zeros(n, np.int64)
    key[n // 3 : n // 2] = 1
    levels = {"LINE": high.astype(np.int64), "CLOCK": np.arange(n) // 7 % 2, "KEY": key, "SPARE": np.zeros(n, np.int64)}
    return Signal(rate_hz, -float(rng.integers(1, 40)) / rate_hz, volts, levels, recording)


def rounded(values: Floats, form: str) -> tuple[list[str], Floats]:
    """Return values written in a form ("%.4f") and what is then in the file."""
    cells = [form % value for value in values]
    return cells, np.array([float(cell) for cell in cells])
