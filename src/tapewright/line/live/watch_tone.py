r"""A tone for busy hands: how late one contact is, as a pitch against a steady one.

first 440 Hz, then 440 Hz x 2^(late / 1 ms): an octave higher is a millisecond late, an octave lower a millisecond early
"""

import importlib
import sys
from typing import Any

import numpy as np

from tapewright.line.live.watch import lateness_of

REFERENCE_HZ, OCTAVE_MS, MOST_OCTAVES = 440.0, 1.0, 2.0
RATE_HZ, EACH_S, FADE_S, LOUD = 44_100, 0.09, 0.008, 0.2
#: with a bell only: one for a contact out by more than this, in ms
BELL_MS = 0.5


def pitch_hz(late_ms: float) -> float:
    """Return the second pitch."""
    octaves = min(max(late_ms / OCTAVE_MS, -MOST_OCTAVES), MOST_OCTAVES)
    return float(REFERENCE_HZ * 2**octaves)


def two_tones(late_ms: float) -> np.ndarray[tuple[int], np.dtype[np.float32]]:
    """Return the samples of both, shape (n,), 44 100 a second."""
    at = np.arange(round(EACH_S * RATE_HZ)) / RATE_HZ
    fade = np.minimum(1.0, np.minimum(at, at[-1] - at) / FADE_S)
    tones = [LOUD * fade * np.sin(2 * np.pi * hz * at) for hz in (REFERENCE_HZ, pitch_hz(late_ms))]
    return np.concatenate(tones).astype(np.float32)


class Tone:
    """Sounds each time the chosen contact closes (or opens)."""

    def __init__(self, contact: str, *, closing: bool) -> None:
        self._contact, self._closing = contact, closing
        self._sound: Any = None
        try:
            self._sound = importlib.import_module("sounddevice")
            self._sound.query_devices(kind="output")
        except Exception:
            # no sound output: the terminal's bell
            self._sound = None

    def take(self, event: object) -> None:
        """Sound for a character in which the contact moved."""
        for late_ms in lateness_of(event, self._contact, closing=self._closing):
            self._play(late_ms)

    def _play(self, late_ms: float) -> None:
        if self._sound is not None:
            self._sound.play(two_tones(late_ms), RATE_HZ)
        elif abs(late_ms) > BELL_MS:
            sys.stderr.write("\a")
            sys.stderr.flush()
