r"""The instrument: what a recorder makes of a voltage that changes in steps.

Picture:

    steps ~~|__|~~   >   slow edges, first-order   >   coupling capacitor, first-order   >   + hum + noise
          >   sampled by a clock that may be wrong   >   a converter with so many bits, clipped at its ends; or a
          threshold and one bit

Between two steps both filters answer in closed form, so that samples are exact, not integrated: with u the signal
behind the slow edges, u = V + B exp(-t / a), the capacitor's output is C exp(-t / b) + B b / (b - a) exp(-t / a). A
sound card also has a steep filter before its converter; each step is given the ringing of a Blackman-windowed sinc 32
samples long.

Sources: first-order filters, uniform converters and hum are any textbook's; the sizes drawn are common practice, no
source.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from worlds.line.transmitter import Line
from worlds.line.truth import AnyTruth

Floats = NDArray[np.float64]
RATES_HZ = (2e3, 5e3, 8e3, 11025.0, 2e4, 44100.0, 1e5, 192e3, 5e5, 1e6)
SOUND_RATES_HZ = (8e3, 11025.0, 22050.0, 44100.0, 48e3, 96e3, 192e3)
MOST_SAMPLES = 1_200_000


@dataclass(frozen=True)
class Instrument:
    """A recorder and its settings.

    Attributes:
        name: what it is.
        rate_hz: nominal samples a second; None = it writes a list of edges.
        clock_ppm: true interval between samples is (1 + clock_ppm / 1e6) / rate_hz; its own times are true / (1 +
            clock_ppm / 1e6).
        tick_s: resolution of the times in a list of edges; 0 = exact.
        space_v, mark_v: voltages without and with current.
        bits: 0 = no converter (floating point), 1 = a threshold, else a converter over `range_v`.
        rise_s, fall_s: time constants of the edges towards the higher and the lower voltage.
        coupling_s: time constant of the coupling capacitor; None = direct.
        hum_v, hum_hz, hum_rad: half the peak-to-peak, frequency and phase of the hum. Noise in V, root mean square.
        steep: a steep filter before the converter.
    """

    name: str
    rate_hz: float | None = None
    clock_ppm: float = 0.0
    tick_s: float = 0.0
    space_v: float = 0.0
    mark_v: float = 1.0
    bits: int = 0
    range_v: tuple[float, float] = (0.0, 1.0)
    rise_s: float = 0.0
    fall_s: float = 0.0
    coupling_s: float | None = None
    hum_v: float = 0.0
    hum_hz: float = 50.0
    hum_rad: float = 0.0
    noise_v: float = 0.0
    steep: bool = False

    @property
    def mark_longer_ms(self) -> float:
        """How much longer marks seem at half height than they are, because the two edges are not equally slow."""
        to_mark, to_space = (self.rise_s, self.fall_s) if self.mark_v > self.space_v else (self.fall_s, self.rise_s)
        return 1e3 * float(np.log(2)) * (to_space - to_mark)


@dataclass(frozen=True, eq=False)
class Recording:
    """What the instrument wrote, and the truth.

    Attributes:
        edges_s: shape (n,), edge times by the instrument's clock; None where it wrote samples.
        mark_after: shape (n,), whether there is current after each edge.
        mark_first: whether there is current at the beginning.
        samples: shape (n,), volts (float64), counts of the converter (int64) or 0 and 1 (uint8); None where it wrote
            edges.
        rate_hz: what the instrument says its rate is.
        duration_s: true length.
    """

    truth: AnyTruth
    instrument: Instrument
    duration_s: float
    edges_s: Floats | None = None
    mark_after: NDArray[np.bool_] | None = None
    mark_first: bool = True
    samples: NDArray[np.float64] | NDArray[np.int64] | NDArray[np.uint8] | None = None
    rate_hz: float | None = None

    @property
    def clock_scale(self) -> float:
        """What true times and units have to be multiplied by to be as the instrument's clock shows them."""
        return 1 / (1 + self.instrument.clock_ppm * 1e-6)

    @property
    def volts(self) -> Floats:
        """The samples in volts: counts over the converter's range; 0 and 1 as they are."""
        assert self.samples is not None, "this instrument writes edges"
        if self.instrument.bits < 2:
            return self.samples.astype(float)
        low, high = self.instrument.range_v
        return low + self.samples * (high - low) / (2**self.instrument.bits - 1)


def steps_seen(steps_s: Floats, volts: Floats, at_s: Floats, instrument: Instrument) -> Floats:
    """Return the voltage behind both filters; `volts`, shape (n + 1,), is before, between and after the steps.

    Both filters are settled on volts[0] at the beginning.
    """
    begins_s = np.concatenate([[min(0.0, at_s[0]), *steps_s]])
    rising = np.diff(volts, prepend=volts[0]) > 0
    a = np.maximum(np.where(rising, instrument.rise_s, instrument.fall_s), 1e-12)
    lengths_s = np.diff(begins_s)
    lag = np.zeros(len(volts))  # B: what the slow edge still lacks at the beginning of each stretch
    for i, length_s in enumerate(lengths_s):
        lag[i + 1] = volts[i] - volts[i + 1] + lag[i] * np.exp(-length_s / a[i])
    where = np.searchsorted(steps_s, at_s, side="right")
    since_s = at_s - begins_s[where]
    slow = lag[where] * np.exp(-since_s / a[where])
    if instrument.coupling_s is None:
        return volts[where] + slow
    b = instrument.coupling_s
    shape = lag * b / (b - a)
    out = np.zeros(len(volts))  # C + shape: the capacitor's output at the beginning of each stretch
    for i, length_s in enumerate(lengths_s):
        out[i + 1] = (out[i] - shape[i]) * np.exp(-length_s / b) + shape[i] * np.exp(-length_s / a[i])
    return (out - shape)[where] * np.exp(-since_s / b) + shape[where] * np.exp(-since_s / a[where])


def ringing(steps_s: Floats, heights_v: Floats, n: int, interval_s: float, half: int = 16) -> Floats:
    """Return what a steep filter adds to `n` point samples: shape (n,)."""
    fine = 256
    x = np.arange(-half * fine, half * fine + 1) / fine
    pulse = np.sinc(x) * np.blackman(len(x))
    rise = np.cumsum(pulse) / np.sum(pulse)
    added = np.zeros(n)
    place = steps_s / interval_s
    for offset in range(-half + 1, half + 1):
        index = np.floor(place).astype(int) + offset
        ahead = index - place
        extra = (np.interp(ahead, x, rise) - (ahead >= 0)) * heights_v
        inside = (index >= 0) & (index < n)
        np.add.at(added, index[inside], extra[inside])
    return added


def record_steps(
    steps_s: Floats, volts: Floats, duration_s: float, instrument: Instrument, rng: np.random.Generator
) -> NDArray[np.float64] | NDArray[np.int64] | NDArray[np.uint8]:
    """Sample a voltage that changes in steps."""
    assert instrument.rate_hz is not None, "this instrument writes edges"
    interval_s = (1 + instrument.clock_ppm * 1e-6) / instrument.rate_hz
    n = int(duration_s / interval_s)
    at_s = np.arange(n) * interval_s
    seen_v = steps_seen(steps_s, volts, at_s, instrument)
    if instrument.steep:
        seen_v += ringing(steps_s, np.diff(volts), n, interval_s)
    return convert(seen_v, at_s, instrument, rng)


def convert(
    seen_v: Floats, at_s: Floats, instrument: Instrument, rng: np.random.Generator
) -> NDArray[np.float64] | NDArray[np.int64] | NDArray[np.uint8]:
    """Add hum and noise to a voltage and convert it."""
    seen_v = seen_v + instrument.hum_v * np.sin(2 * np.pi * instrument.hum_hz * at_s + instrument.hum_rad)
    if instrument.noise_v:
        seen_v = seen_v + rng.normal(0, instrument.noise_v, len(seen_v))
    if instrument.bits == 1:
        return (seen_v > (instrument.space_v + instrument.mark_v) / 2).astype(np.uint8)
    if instrument.bits:
        low, high = instrument.range_v
        top = 2**instrument.bits - 1
        return np.clip(np.rint((seen_v - low) / (high - low) * top), 0, top).astype(np.int64)
    return seen_v


def record(line: Line, truth: AnyTruth, instrument: Instrument, rng: np.random.Generator) -> Recording:
    """Record a line."""
    if instrument.rate_hz is None:
        edges_s = line.edges_s / (1 + instrument.clock_ppm * 1e-6)
        if instrument.tick_s:
            edges_s = np.rint(edges_s / instrument.tick_s) * instrument.tick_s
        return Recording(truth, instrument, line.duration_s, edges_s, line.mark_after, line.mark_first)
    marks = np.concatenate([[line.mark_first], line.mark_after])
    volts = np.where(marks, instrument.mark_v, instrument.space_v)
    samples = record_steps(line.edges_s, volts, line.duration_s, instrument, rng)
    return Recording(truth, instrument, line.duration_s, None, None, line.mark_first, samples, instrument.rate_hz)


def draw_rate(rng: np.random.Generator, duration_s: float, rates_hz: tuple[float, ...] = RATES_HZ) -> float:
    """Draw a sample rate that keeps the recording small."""
    fits = [rate for rate in rates_hz if rate * duration_s <= MOST_SAMPLES]
    return float(rng.choice(fits or rates_hz[:1]))


def draw_instrument(name: str, rng: np.random.Generator, duration_s: float) -> Instrument:
    """Draw the settings of an instrument by its name; `NAMES` has them, "any" draws the name too."""
    if name == "any":
        name = str(rng.choice(NAMES))
    if name == "edges":
        return Instrument(name)
    ppm = float(rng.normal(0, 30))
    if name == "edges with ticks":
        return Instrument(name, clock_ppm=ppm, tick_s=float(rng.choice([1e-8, 1e-6, 1e-5])))
    if name == "logic":
        return Instrument(name, draw_rate(rng, duration_s), ppm, bits=1)
    if name == "sound card":
        corner_hz = float(rng.uniform(0.5, 20))
        rate_hz = draw_rate(rng, duration_s, SOUND_RATES_HZ)
        step = float(rng.uniform(0.2, 0.9) * rng.choice([-1, 1]))
        card = Instrument(name, rate_hz, ppm, mark_v=step, bits=16, range_v=(-1.0, 1.0), steep=True)
        return replace(
            card, coupling_s=1 / (2 * np.pi * corner_hz), noise_v=abs(step) * 10 ** float(rng.uniform(-4, -2))
        )
    space_v, mark_v = draw_levels(rng)
    step_v = abs(mark_v - space_v)
    low_v = min(space_v, mark_v) - step_v * float(rng.uniform(0.1, 0.8))
    range_v = (low_v, low_v + step_v * float(rng.uniform(2.0, 4.0)))
    scope = Instrument(
        name, draw_rate(rng, duration_s), ppm, 0.0, space_v, mark_v, int(rng.choice([8, 10, 12])), range_v
    )
    scope = replace(scope, noise_v=step_v * 10 ** float(rng.uniform(-3, -1.5)))
    if name == "slow edges":
        slow_s = float(rng.uniform(0.05e-3, 1.5e-3))
        other_s = slow_s * float(rng.choice([1.0, rng.uniform(0.5, 2.0)]))
        return replace(scope, rise_s=slow_s, fall_s=other_s)
    if name == "hum":
        return replace(
            scope,
            hum_v=step_v / 2 * float(rng.uniform(0, 0.6)),
            hum_hz=float(rng.choice([50.0, 60.0]) * rng.normal(1, 0.002)),
            hum_rad=float(rng.uniform(0, 2 * np.pi)),
        )
    return scope


def draw_levels(rng: np.random.Generator) -> tuple[float, float]:
    """Return (space, mark) in V: logic, a sense resistor in the loop, the voltage over the open contact, or polar."""
    choices = [
        (0.0, 5.0),
        (0.0, 3.3),
        (0.0, 1.2),
        (0.0, 6.0),
        (24.0, 0.9),
        (60.0, 1.5),
        (120.0, 2.0),
        (-12.0, 12.0),
        (80.0, -80.0),
    ]
    space_v, mark_v = choices[int(rng.integers(len(choices)))]
    return space_v * float(rng.uniform(0.9, 1.1)), mark_v * float(rng.uniform(0.9, 1.1))


NAMES = ("edges", "edges with ticks", "logic", "oscilloscope", "slow edges", "sound card", "hum")
