"""Samples in memory, as a file of them would be read."""


class Held:
    """Samples of one channel."""

    channels = 1

    def __init__(self, samples):
        self.samples, self.count = samples, samples.size

    def read(self, first, count):
        return [self.samples[first : first + count]]
