"""The capture formats, tried in this order; help, page and docs read this list.

To add one: a file with NAME, LABEL, NEEDS_RATE, WHAT, looks_like and read, and a line here.
"""

from pathlib import Path
from typing import Protocol

from tapewright.recordings.capture import Recording
from tapewright.recordings.files import csv_file, npy_file, npz_file, raw_file, vcd_file, wav_file
from tapewright.recordings.files.options import Options


class CaptureFormat(Protocol):
    """What a module that reads one format offers.

    Attributes:
        NAME: in the contract's words, for example "csv".
        LABEL: what people call such files, for example "CSV, TSV".
        NEEDS_RATE: whether nothing in the file tells the sample rate; then it is tried only when one is given.
        WHAT: what of it is read.
    """

    NAME: str
    LABEL: str
    NEEDS_RATE: bool
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

_TELLING, _UNTOLD = (", ".join(f.LABEL for f in FORMATS if f.NEEDS_RATE is needs) for needs in (False, True))
#: the formats in one line, as help and page name them
KINDS = f"{_TELLING}; {_UNTOLD} with their rate"


def format_of(head: bytes, *, rate_given: bool) -> CaptureFormat | None:
    """Return the format of a file that begins with `head`, None when it is none of these."""
    return next((f for f in FORMATS if (rate_given or not f.NEEDS_RATE) and f.looks_like(head)), None)
