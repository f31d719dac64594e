"""A WAV file: baseband or a keyed tone, to be played by anything."""

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tapewright.errors import WrongUseError
from tapewright.practice.sound import FEWEST_PERIODS, sound_pieces
from tapewright.practice.transmitter import Transmission
from tapewright.sender.files.wav_writer import MOST_BYTES, write_pieces
from tapewright.sender.send import Delivered, Progress
from tapewright.sender.sinks.asked import Asked

KIND = "wav"
WHAT = "a WAV file, baseband or keyed tone"
EXAMPLE = "wav:test.wav"
RATE_HZ = 48_000.0
WIDTH = 2
LOWEST_TONE_HZ, HIGHEST_SHARE = 100.0, 0.45


def unavailable() -> str:
    """It is always there."""
    return ""


def found() -> tuple[str, ...]:
    """No file is named before it is written."""
    return ()


def rate_and_tone(asked: Asked, baud: float) -> tuple[float, float | None]:
    """Return sample rate and tone.

    Raises:
        WrongUseError: for a tone that cannot carry the signal.
    """
    rate, tone = asked.rate_hz or RATE_HZ, asked.tone_hz
    if tone is not None and not max(LOWEST_TONE_HZ, FEWEST_PERIODS * baud) <= tone <= HIGHEST_SHARE * rate:
        least = max(LOWEST_TONE_HZ, FEWEST_PERIODS * baud)
        raise WrongUseError(
            f"--tone: expected {least:g} to {HIGHEST_SHARE * rate:g} Hz for {baud:g} Bd at {rate:g} samples a second, "
            f"found {tone:g}."
        )
    return rate, tone


def how_it_sounds(tone_hz: float | None, rate_hz: float, *, turned: bool) -> str:
    """Say what the sound is."""
    if tone_hz is None:
        return f"baseband, mark {'low' if turned else 'high'}, {rate_hz:g} samples a second"
    return f"a tone of {tone_hz:g} Hz, on in {'space' if turned else 'mark'}, {rate_hz:g} samples a second"


class WavSink:
    """Writes one WAV file; it appears only when it is whole."""

    drives_loop = False

    def __init__(self, asked: Asked) -> None:
        """Take the file's name."""
        self._asked, self._path = asked, Path(asked.must_say_where(KIND, EXAMPLE))
        self.what = self._path.name

    def deliver(self, transmission: Transmission, baud: float, progress: Progress) -> Delivered:
        """Write the file."""
        rate, tone = rate_and_tone(self._asked, baud)
        line, turned = transmission.line, self._asked.turned
        count = int((line.end_s - line.begin_s) * rate)
        if count * WIDTH > MOST_BYTES:
            raise WrongUseError("This signal is longer than a WAV file can be (4 GB): lower --rate.")

        def pieces() -> Iterator[npt.NDArray[np.float64]]:
            done = 0
            for piece in sound_pieces(line, rate, tone, turned=turned):
                yield piece
                done += piece.size
                progress(done / max(count, 1))

        unfinished = self._path.with_name(self._path.name + ".unfinished")
        try:
            write_pieces(unfinished, rate, WIDTH, pieces())
            os.replace(unfinished, self._path)
        finally:
            unfinished.unlink(missing_ok=True)
        return Delivered(how_it_sounds(tone, rate, turned=turned))

    def close(self) -> None:
        """Nothing is held."""


def open_sink(asked: Asked) -> WavSink:
    """Open it."""
    return WavSink(asked)
