"""How characters follow each other, and what the line does besides."""

from dataclasses import dataclass

import numpy as np

from tapewright.practice.line_signal import FloatArray


@dataclass(frozen=True, slots=True)
class Keying:
    """Hand or tape, and the accidents of a recording.

    Attributes:
        lead_s: rest before the first character.
        tail_s: rest after the last one.
        gap_s: mean rest between characters besides the stop; 0 for a stream at full speed.
        gap_spread: spread of the gaps relative to their mean (gamma distribution, never negative).
        begin_s: the recording begins here; more than `lead_s` cuts off the beginning of the text.
        glitches: number of short spaces in the rest before the first character.
        glitch_s: longest of them.
        breaks: (begin, end) in seconds of stretches in which the line is open.
    """

    lead_s: float = 0.3
    tail_s: float = 0.3
    gap_s: float = 0.0
    gap_spread: float = 0.5
    begin_s: float = 0.0
    glitches: int = 0
    glitch_s: float = 2e-3
    breaks: tuple[tuple[float, float], ...] = ()

    def gaps_s(self, characters: int, generator: np.random.Generator) -> FloatArray:
        """Draw the rest after each character, shape (characters,), seconds."""
        if not self.gap_s or not characters:
            return np.zeros(characters)
        if not self.gap_spread:
            return np.full(characters, self.gap_s)
        shape = 1 / self.gap_spread**2
        return generator.gamma(shape, self.gap_s / shape, characters)

    def open_line(self, generator: np.random.Generator) -> FloatArray:
        """Return the stretches in which something besides the transmitter opens the line, shape (n, 2)."""
        broken = np.array(self.breaks, dtype=float).reshape(-1, 2)
        if not self.glitches:
            return broken
        latest = max(self.begin_s, self.lead_s - self.glitch_s)
        begin = generator.uniform(self.begin_s, latest, self.glitches)
        short = np.column_stack([begin, begin + generator.uniform(0.02, 1.0, self.glitches) * self.glitch_s])
        return np.concatenate([broken, short])
