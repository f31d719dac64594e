r"""A tone keyed on and off: its envelope, taken by quadrature detection, is the line.

Picture (h is symmetric, so that an edge comes out as a ramp with the edge at half its height):

    samples    ______/\/\/\/\/\______       x = e(t) sin(2 pi f t + phase)
    envelope         .--------.
               _____/          \_____       2 |z|,  z_k = sum over i of h_i x_i exp(-2 pi j f t_i)
                   x            x           h: a Hann window of D seconds about block k

f is found from the samples (the peak of their spectrum), never told; a small mistake in it costs a little height and
moves nothing. D is three milliseconds, or two and a half periods of a low tone: shorter lets the tone's own phase
through, longer would swallow short elements. A bounce shorter than D does not come through. The samples are mixed down
in blocks first (the sum over a block is a matrix product), then weighted block by block, which is the same sum.
Quadrature detection and the Hann window are textbook matter (from memory).
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from tapewright.number.reading import COVERAGE_FACTOR
from tapewright.recordings.capture import Samples, Suspicion
from tapewright.recordings.edges.analogue import EdgeStream, Readable
from tapewright.recordings.edges.levels import Levels, find_levels

FloatArray = npt.NDArray[np.float64]
Complex = npt.NDArray[np.complex128]

KEYED = "keyed tone"
#: length of the window: seconds, and periods of the tone at the least; blocks in it
WINDOW_S, FEWEST_PERIODS, BLOCKS = 0.003, 2.5, 32
#: off may be this high against on, else the tone is shifted, not keyed; so may all sound in off against that in on
MOST_OFF, MOST_SOUND_OFF = 0.35, 0.5
#: the envelope's noise at half height against that on the upper level (found by simulation; tests/core/line/test_tone
#: holds it to account)
NOISE_HALF_WAY = 1.3
#: a tone switched hard at the phase p seems switched sin(2 p) / (2 w) too late, w = 2 pi f: the doubt of not knowing p
PHASE_TURNS = 1 / (2 * 2**0.5 * 2 * np.pi)
LEVEL_BLOCKS = 1 << 16


@dataclass(frozen=True)
class Tone:
    """A tone as it was found.

    Attributes:
        hz: its frequency.
        rate_hz: samples a second.
        offset: mean of the samples, which is no part of it.
    """

    hz: float
    rate_hz: float
    offset: float

    @property
    def window_s(self) -> float:
        """Length of the window."""
        return max(WINDOW_S, FEWEST_PERIODS / self.hz)

    @property
    def block(self) -> int:
        """Samples that give one value of the envelope."""
        return max(1, int(self.window_s * self.rate_hz / BLOCKS))

    @property
    def centre(self) -> float:
        """Where in its block a value lies, in samples from its first."""
        return (self.block - 1) / 2

    @cached_property
    def weights(self) -> FloatArray:
        """The window over blocks, shape (odd,), its sum 1."""
        half = max(1, round(self.window_s * self.rate_hz / self.block / 2))
        window = np.cos(np.pi * np.arange(-half, half + 1) / (2 * half + 2)) ** 2
        return np.asarray(window / window.sum())

    @cached_property
    def _mixer(self) -> FloatArray:
        turns = 2 * np.pi * self.hz / self.rate_hz * np.arange(self.block)
        return np.stack([np.cos(turns), -np.sin(turns)], axis=1) / self.block

    def mixed_down(self, samples: Samples, first: int) -> Complex:
        """Return one number for each whole block of samples, the first of which is block number `first`."""
        whole = samples.size // self.block
        rows = samples[: whole * self.block].reshape(whole, self.block).astype(np.float64) - self.offset
        parts = rows @ self._mixer
        turns = np.mod((first + np.arange(whole)) * (self.block * self.hz / self.rate_hz), 1.0)
        return np.asarray((parts[:, 0] + 1j * parts[:, 1]) * np.exp(-2j * np.pi * turns))

    def envelope(self, blocks: Complex, before: int, after: int) -> FloatArray:
        """Return envelope of blocks, half a window more at both ends; `before` and `after` of these are not there."""
        there = np.ones(blocks.size)
        there[:before] = 0.0
        there[there.size - after :] = 0.0
        sums = np.convolve(blocks, self.weights, "valid")
        return np.asarray(2 * np.abs(sums) / np.convolve(there, self.weights, "valid"))


class EnvelopeReader:
    """The envelope of one channel as samples that can be read from any place on."""

    channels = 1

    def __init__(self, reader: Readable, channel: int, tone: Tone) -> None:
        """Take the samples from a reader."""
        self._reader, self._channel, self._tone = reader, channel, tone
        self.count = reader.count // tone.block

    def read(self, first: int, count: int) -> list[FloatArray]:
        """Return `count` values from number `first` on."""
        if count <= 0:
            return [np.empty(0)]
        tone, half = self._tone, self._tone.weights.size // 2
        begin, end = max(0, first - half), min(self.count, first + count + half)
        samples = self._reader.read(begin * tone.block, (end - begin) * tone.block)[self._channel]
        before, after = half - (first - begin), half - (end - first - count)
        blocks = np.pad(tone.mixed_down(samples, begin), (before, after))
        return [tone.envelope(blocks, before, after)]


class EnvelopeStream:
    """Feed samples in pieces of any size; get the envelope, half a window behind."""

    def __init__(self, tone: Tone) -> None:
        self.tone = tone
        self._rest: Samples = np.empty(0)
        self._before = tone.weights.size // 2
        self._held = np.zeros(self._before, np.complex128)
        self._taken = 0

    def feed(self, samples: Samples) -> FloatArray:
        """Return the values that `samples`, shape (n,), complete."""
        waiting = np.concatenate([self._rest, samples]) if self._rest.size else samples
        blocks = self.tone.mixed_down(waiting, self._taken)
        self._rest = waiting[blocks.size * self.tone.block :].copy()
        self._taken += blocks.size
        held = np.concatenate([self._held, blocks])
        if held.size < self.tone.weights.size:
            self._held = held
            return np.empty(0)
        out = self.tone.envelope(held, self._before, 0)
        self._held, self._before = held[out.size :], max(0, self._before - out.size)
        return out


@dataclass(frozen=True, slots=True, eq=False)
class Keyed:
    """A tone with the two levels of its envelope."""

    tone: Tone
    levels: Levels

    def edge_stream(self) -> EdgeStream:
        """Return what finds the edges in the envelope."""
        swing = self.levels.swing
        return EdgeStream(self.levels.thresholds(), swing=swing, noise=NOISE_HALF_WAY * self.levels.noise)

    def in_samples(self, at: FloatArray, u: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return places in the envelope, and their uncertainties, in samples of the recording.

        How the tone stood when it was switched is not known, and counts in the uncertainty; a softly keyed tone has
        less of it than that.
        """
        phase = PHASE_TURNS / self.tone.hz * self.tone.rate_hz
        return at * self.tone.block + self.tone.centre, np.hypot(u * self.tone.block, phase)

    def suspicion(self) -> Suspicion:
        """Say what was done."""
        best_ms = 1e3 * COVERAGE_FACTOR * PHASE_TURNS / self.tone.hz
        return Suspicion(
            KEYED,
            f"a tone of {self.tone.hz:.0f} Hz, keyed on and off: the instants are those of its envelope, each known to "
            f"± {best_ms:.2f} ms at best; whatever is shorter than {1e3 * self.tone.window_s:.0f} ms, bounce above "
            "all, does not come through",
            "Record the contacts themselves where bounce matters; a higher tone is more exact.",
        )


def keyed(reader: Readable, channel: int, hz: float, rate_hz: float, begin: int, count: int) -> Keyed | None:
    """Find the levels of a tone's envelope; None when it is not keyed on and off.

    Args:
        reader: the samples.
        channel: which channel of them.
        hz: the tone's frequency.
        rate_hz: samples a second.
        begin: first sample of a stretch in which something happens.
        count: how many samples it has.
    """
    samples = reader.read(begin, count)[channel].astype(np.float64)
    tone = Tone(hz, rate_hz, float(samples.mean()))
    half, blocks = tone.weights.size // 2, tone.mixed_down(samples, 0)[:LEVEL_BLOCKS]
    values = tone.envelope(np.pad(blocks, half), half, half)
    levels = find_levels(values)
    if levels is None or not levels.two or levels.low > MOST_OFF * levels.high:
        return None
    on = values > levels.low + levels.swing / 2
    loud = (samples[: values.size * tone.block].reshape(values.size, tone.block) - tone.offset) ** 2
    if loud[~on].mean() > MOST_SOUND_OFF**2 * loud[on].mean():
        return None
    upper = values[values > levels.high - levels.swing / 6]
    noise = float(1.4826 * np.median(np.abs(upper - np.median(upper))))
    return Keyed(tone, Levels(levels.low, levels.high, noise, levels.near))
