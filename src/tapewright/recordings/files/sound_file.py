"""FLAC, Ogg and MP3: sound as phones and field recorders keep it, decoded by libsndfile (the extra `sound`).

What is recorded by lossy coding has had small parts of the sound left out: the keying comes through, bounce may not.
M4A and its kin are recognised, and refused with what to do: libsndfile does not decode them.
"""

import importlib
from pathlib import Path
from typing import Protocol

from tapewright.errors import InputError
from tapewright.recordings.capture import Recording, Samples, Suspicion
from tapewright.recordings.edges.clock import RegularClock
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.files.samples import record_samples

NAME = "sound"
LABEL, NEEDS_RATE = "FLAC, Ogg, MP3", False
WHAT = "FLAC, Ogg and MP3 sound, as phones record it (needs the extra `sound`); of lossy coding it is said"
_LOSSLESS = (b"fLaC",)
_MARKS, _MPEG_FRAMES = (*_LOSSLESS, b"OggS", b"ID3"), (b"\xff\xfb", b"\xff\xf3", b"\xff\xf2")


class _Sound(Protocol):
    """What is used of libsndfile's open file."""

    samplerate: int
    channels: int
    frames: int

    def seek(self, frame: int) -> int: ...

    def read(self, frames: int, dtype: str, always_2d: bool) -> Samples: ...

    def close(self) -> None: ...


def looks_like(head: bytes) -> bool:
    """Return whether `head` is the beginning of such a file, or of an M4A one."""
    # the third byte of a bare MPEG frame holds indices of bit rate and sample rate (from memory); raw logic has all or
    # no bits there
    frame = head.startswith(_MPEG_FRAMES) and len(head) > 3 and head[2] >> 4 not in (0, 15) and head[2] >> 2 & 3 != 3
    return head.startswith(_MARKS) or head[4:8] == b"ftyp" or frame


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        head = file.read(12)
    if head[4:8] == b"ftyp":
        do = "Let the recorder, or a converter, save it as WAV or FLAC."
        raise InputError(path.name, expected="WAV, FLAC, Ogg or MP3 sound", found="M4A or a film", do=do)
    sound = _opened(path)
    names = ["left", "right"] if sound.channels == 2 else [str(n) for n in range(1, sound.channels + 1)]
    chosen = pick_channels(names, options.channel, path.name)
    lossy = Suspicion(
        "lossy coding",
        "the recorder left out what an ear would not miss; that can move an edge and hide bounce",
        "Record as WAV or FLAC before small displacements are believed.",
    )
    return record_samples(
        _Reader(sound, chosen, path.name),
        RegularClock(1 / sound.samplerate),
        kind="sound, lossless" if head.startswith(_LOSSLESS) else "sound, lossy",
        names=names,
        chosen=chosen,
        options=options,
        suspicions=() if head.startswith(_LOSSLESS) else (lossy,),
    )


def _opened(path: Path) -> _Sound:
    try:
        library = importlib.import_module("soundfile")
    except (ImportError, OSError) as reason:
        do = "Install what is missing with: pip install 'tapewright[sound]'; or save it as WAV."
        raise InputError(path.name, expected="a decoder for it", found="none installed", do=do) from reason
    try:
        sound: _Sound = library.SoundFile(str(path))
    except (RuntimeError, OSError, TypeError) as reason:
        do = "The file is cut short or damaged: copy it again."
        raise InputError(path.name, expected="whole sound", found=str(reason).splitlines()[0][-80:], do=do) from reason
    return sound


class _Reader:
    """Samples of some channels, decoded as they are asked for."""

    def __init__(self, sound: _Sound, chosen: list[int], source: str) -> None:
        self.count, self.channels = max(0, sound.frames), len(chosen)
        self._sound, self._chosen, self._source = sound, chosen, source

    def read(self, first: int, count: int) -> list[Samples]:
        """Return `count` samples of each channel from number `first` on."""
        count = min(count, self.count - first)
        try:
            self._sound.seek(first)
            table = self._sound.read(count, dtype="float32", always_2d=True)
        except (RuntimeError, OSError) as reason:
            table = None
            why = str(reason).splitlines()[0][-80:]
        if table is None or table.shape[0] < count:
            found = why if table is None else f"an end after {first + table.shape[0]}"
            expected, do = f"{self.count} samples", "The file is cut short or damaged: copy it again."
            raise InputError(self._source, place=f"sample {first}", expected=expected, found=found, do=do)
        return [table[:, channel].copy() for channel in self._chosen]

    def close(self) -> None:
        """Close the file."""
        self._sound.close()
