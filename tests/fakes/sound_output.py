"""A sound output that keeps what it is given, and a serial port whose breaks are timed by a clock of our own."""

import numpy as np


class SoundOutput:
    """What `sounddevice` offers of an output, with the samples kept."""

    def __init__(self, *, dry_at=()):
        self.blocks, self.dry_at, self.closed, self.asked = [], set(dry_at), False, {}

    def OutputStream(self, **asked):  # noqa: N802 - the library's name
        self.asked = asked
        return self

    def query_devices(self):
        return [{"name": "made-up output", "max_output_channels": 2}]

    def start(self): ...

    def stop(self): ...

    def close(self):
        self.closed = True

    def write(self, block):
        assert block.dtype == np.int16
        self.blocks.append(block[:, 0].copy())
        return len(self.blocks) - 1 in self.dry_at

    @property
    def samples(self):
        return np.concatenate(self.blocks)


class Ticking:
    """A clock that goes on by itself a little with each look, and oversleeps."""

    def __init__(self, seed=0, look_s=2e-6, oversleep_s=1e-3):
        self.time_s, self.look_s, self.oversleep_s = 100.0, look_s, oversleep_s
        self.rng = np.random.default_rng(seed)

    def now(self):
        self.time_s += self.look_s
        return self.time_s

    def sleep(self, seconds):
        self.time_s += seconds + self.rng.uniform(0, self.oversleep_s)


class BreakPort:
    """What `serial.Serial` offers of breaks; every change takes a while and is noted with its time."""

    def __init__(self, clock, takes_s=20e-6, scatter_s=0.0):
        self.clock, self.takes_s, self.scatter_s = clock, takes_s, scatter_s
        self.changes, self.closed, self._space = [], False, False

    @property
    def break_condition(self):
        return self._space

    @break_condition.setter
    def break_condition(self, space):
        self.clock.time_s += self.takes_s + abs(self.clock.rng.normal(0, self.scatter_s))
        self._space = space
        self.changes.append((self.clock.time_s, space))

    def reset_output_buffer(self): ...

    def close(self):
        self.closed = True
