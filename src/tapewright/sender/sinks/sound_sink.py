"""The sound output, through PortAudio: baseband for a loop keyer, or a keyed tone.

    pieces > sound output > coupling capacitor > isolated keyer > loop

A sound card's output is AC-coupled: it cannot hold a steady level. A keyer for baseband must follow the changes; a
keyer for a tone follows its envelope and holds for ever.
"""

import importlib
from typing import Any

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError
from tapewright.practice.sound import sound_pieces
from tapewright.practice.transmitter import Transmission
from tapewright.sender.send import Delivered, Progress
from tapewright.sender.sinks.asked import Asked
from tapewright.sender.sinks.wav_sink import how_it_sounds, rate_and_tone

KIND = "sound"
WHAT = "a sound output, baseband or keyed tone"
EXAMPLE = "sound"
INSTALL = "install what is missing with: pip install 'tapewright[live]'"
NO_PORTAUDIO = "the PortAudio library is not installed; on Debian and Ubuntu: sudo apt install libportaudio2"
CLOCK = "The speed is as right as the sound card's clock; most are within 0.01 % (common practice, no source)."
HOLDS_NOTHING = "A sound output does not hold a steady level: the keyer must follow changes, or use --tone."


def unavailable() -> str:
    """Say why there is no sound output here; empty when there is."""
    try:
        sound = importlib.import_module("sounddevice")
    except ImportError:
        return INSTALL
    except OSError:
        return NO_PORTAUDIO
    try:
        devices = sound.query_devices()
    except Exception as reason:
        return f"PortAudio finds no sound system ({reason}); plug in a sound card, or start the sound service"
    if not any(device["max_output_channels"] > 0 for device in devices):
        return "no sound output was found; plug in a sound card"
    return ""


def found() -> tuple[str, ...]:
    """Name the outputs."""
    if unavailable():
        return ()
    devices = importlib.import_module("sounddevice").query_devices()
    return tuple(str(d["name"]) for d in devices if d["max_output_channels"] > 0)


class SoundSink:
    """One sound output."""

    drives_loop = True

    def __init__(self, asked: Asked) -> None:
        """Choose the output; it is opened when the signal goes out."""
        self._asked = asked
        self._stream: Any = None
        self.what = f"sound output {asked.where or '(the usual one)'}"

    def deliver(self, transmission: Transmission, baud: float, progress: Progress) -> Delivered:
        """Play it all."""
        rate, tone = rate_and_tone(self._asked, baud)
        self._open(rate)
        line, ran_dry, done = transmission.line, 0, 0
        count = max(1, int((line.end_s - line.begin_s) * rate))
        for piece in sound_pieces(line, rate, tone, turned=self._asked.turned):
            values = np.round(np.clip(piece, -1, 1) * 32767).astype(np.int16).reshape(-1, 1)
            ran_dry += self._write(values)
            done += piece.size
            progress(done / count)
        self._stream.stop()
        notes = [CLOCK] + [HOLDS_NOTHING] * (tone is None)
        if ran_dry:
            notes.insert(0, f"The sound output ran dry {ran_dry} times: the signal is spoilt there. Send it again.")
        return Delivered(how_it_sounds(tone, rate, turned=self._asked.turned), notes=tuple(notes))

    def _write(self, values: npt.NDArray[np.int16]) -> bool:
        """Hand a piece to the output; give whether it had run dry."""
        try:
            return bool(self._stream.write(values))
        except Exception as reason:  # the library's own error is nothing more
            raise InputError(self.what, expected="an output that plays on", found=str(reason),
                             do="Is it still plugged in? Send it again from the beginning.") from reason  # fmt: skip

    def close(self) -> None:
        """Let go of the output."""
        if self._stream is not None:
            self._stream.close()
            self._stream = None

    def _open(self, rate_hz: float) -> None:
        where = self._asked.where
        device: str | int | None = int(where) if where.isdecimal() else where or None
        try:
            sound = importlib.import_module("sounddevice")
            self._stream = sound.OutputStream(
                samplerate=rate_hz, device=device, channels=1, dtype="int16", latency="high"
            )
            self._stream.start()
        except Exception as reason:
            do = "tapewright line send --list names the outputs."
            raise InputError(
                self.what, expected=f"an output of {rate_hz:g} samples a second", found=str(reason), do=do
            ) from reason


def open_sink(asked: Asked) -> SoundSink:
    """Open it."""
    return SoundSink(asked)
