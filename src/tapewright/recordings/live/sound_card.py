"""The sound input, through PortAudio.

    line > attenuator, isolation > sound input > callback > queue > pieces

The callback only puts samples into the queue; what PortAudio reports as lost is passed on as a gap.
"""

import importlib
import queue
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from tapewright.errors import InputError
from tapewright.recordings.capture import Suspicion
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.source import GapPiece, Piece, SamplePiece

KIND = "sound"
WHAT = "a sound input"
EXAMPLE = "sound"
RATE_HZ = 48_000.0
#: samples in a block: 10 ms at 48 kHz
BLOCK_S = 0.01
#: seconds of sound that may wait; when a busy machine falls behind by more, a gap is said
LONGEST_WAIT_S = 60.0
#: a way through a sound card that takes longer than this is a wrong clock
LONGEST_LAG_S = 1.0
#: an input gives a block a hundred times a second; without any for so long it is gone (owner's choice)
LOOK_S, LONGEST_SILENCE_S = 0.1, 5.0
INSTALL = "install what is missing with: pip install 'tapewright[live]'"
NO_PORTAUDIO = "the PortAudio library is not installed; on Debian and Ubuntu: sudo apt install libportaudio2"


def load() -> Any:
    """Import the library.

    Raises:
        InputError: with the reason and the remedy.
    """
    reason = unavailable()
    if reason:
        raise InputError("sound input", expected="the sound library", found="none", do=f"{reason}.")
    return importlib.import_module("sounddevice")


def unavailable() -> str:
    """Say why there is no sound input here; empty when there is."""
    try:
        sounddevice = importlib.import_module("sounddevice")
    except ImportError:
        return INSTALL
    except OSError:
        return NO_PORTAUDIO
    try:
        devices = sounddevice.query_devices()
    except Exception as reason:
        return f"PortAudio finds no sound system ({reason}); plug in a sound card, or start the sound service"
    if not any(device["max_input_channels"] > 0 for device in devices):
        return "no sound input was found; plug in a sound card with a line input"
    return ""


def found() -> tuple[str, ...]:
    """Name the inputs."""
    if unavailable():
        return ()
    devices = importlib.import_module("sounddevice").query_devices()
    return tuple(str(d["name"]) for d in devices if d["max_input_channels"] > 0)


class SoundSource:
    """One channel of a sound input."""

    suspicions: tuple[Suspicion, ...] = ()
    whole_file: Path | None = None

    def __init__(self, asked: Asked) -> None:
        """Open the input.

        Raises:
            InputError: when it cannot be opened.
        """
        sound = load()
        self.rate_hz = asked.rate_hz or RATE_HZ
        self._channel = (asked.channel or 1) - 1
        self._queue: queue.Queue[Piece] = queue.Queue()
        self._most = round(LONGEST_WAIT_S / BLOCK_S)
        self._closed = False
        self._name = f"sound input {asked.where}".strip()
        device: str | int | None = int(asked.where) if asked.where.isdecimal() else asked.where or None
        try:
            self._stream = sound.InputStream(
                samplerate=self.rate_hz,
                blocksize=round(self.rate_hz * BLOCK_S),
                device=device,
                channels=self._channel + 1,
                dtype="int16",
                latency="low",
                callback=self._take,
            )
            self._stream.start()
        except Exception as reason:
            raise InputError(
                self._name,
                expected=f"an input of {self._channel + 1} channels at {self.rate_hz:g} Hz",
                found=str(reason),
                do="tapewright line watch --list names the inputs.",
            ) from reason
        self.what = f"sound input {asked.where or '(the usual one)'}, {self.rate_hz:g} samples a second"

    def pieces(self) -> Iterator[Piece]:
        """Return blocks as they come; they come even from a quiet line.

        Raises:
            InputError: when none comes any more.
        """
        heard_at_s = time.monotonic()
        while not self._closed:
            try:
                yield self._queue.get(timeout=LOOK_S)
                heard_at_s = time.monotonic()
            except queue.Empty:
                silent_s = time.monotonic() - heard_at_s
                if silent_s > (LONGEST_SILENCE_S if self._stream.active else LOOK_S):
                    found = f"none for {silent_s:.1f} s" if self._stream.active else "an input that has stopped"
                    raise InputError(
                        self._name,
                        expected="samples",
                        found=found,
                        do="Is it still plugged in? Does another program hold it?",
                    ) from None
                yield SamplePiece(np.empty(0, np.int16))

    def close(self) -> None:
        """Stop the input."""
        if not self._closed:
            self._closed = True
            self._stream.stop()
            self._stream.close()

    def _take(self, block: Any, frames: int, times: Any, status: Any) -> None:
        """Take a block from PortAudio's thread; never wait here."""
        if status and status.input_overflow:
            self._queue.put(GapPiece(None, "the sound system lost samples"))
        if self._queue.qsize() > self._most:
            return
        if self._queue.qsize() == self._most:
            self._queue.put(GapPiece(None, "this computer fell a minute behind"))
        lag_s = lag_of(times, frames / self.rate_hz)
        self._queue.put(SamplePiece(block[:, self._channel].copy(), time.monotonic(), lag_s))


def lag_of(times: Any, block_s: float) -> float:
    """Return how long ago the last sample of a block was taken in, by PortAudio's own clock.

    Some sound systems leave the times at zero, or count them from elsewhere: then it is not known, and 0 is given.
    """
    first_s, now_s = getattr(times, "inputBufferAdcTime", 0.0), getattr(times, "currentTime", 0.0)
    lag_s = now_s - first_s - block_s
    return float(lag_s) if first_s > 0.0 and 0.0 <= lag_s <= LONGEST_LAG_S else 0.0


def open_source(asked: Asked) -> SoundSource:
    """Open it."""
    return SoundSource(asked)
