"""The capture formats, tried in this order. To add one: a file with NAME, WHAT, looks_like and read; a line here."""

from pathlib import Path
from typing import Protocol

from tapewright.recordings.capture import Recording
from tapewright.recordings.files import csv_file, npy_file, npz_file, raw_file, vcd_file, wav_file
from tapewright.recordings.files.options import Options


class CaptureFormat(Protocol):
    """What a module that reads one format offers."""

    NAME: str
    WHAT: str

    def looks_like(self, head: bytes) -> bool:
        """Return whether a file that begins with `head` is of this format."""

    def read(self, path: Path, options: Options) -> tuple[Recording, ...]:
        """Read it."""


FORMATS: tuple[CaptureFormat, ...] = (
    wav_file,
    npy_file,
    npz_file,
    vcd_file,
    csv_file,
    raw_file,
)
