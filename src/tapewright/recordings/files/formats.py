"""The capture formats, tried in this order; help, page and docs read this list.

To add one: a file with NAME, LABEL, NEEDS_RATE, WHAT, looks_like and read, and a line here; or the same in a package of
your own, named by an entry point (docs/how-to/add-a-format.md).
"""

import zlib
from pathlib import Path
from typing import Protocol, cast

from tapewright.furniture.plug_ins import CAPTURE_FORMATS, from_outside
from tapewright.recordings.capture import Recording
from tapewright.recordings.files import (
    csv_file,
    npy_file,
    npz_file,
    raw_file,
    sound_file,
    stamps_file,
    vcd_file,
    wav_file,
)
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
    sound_file,
    npy_file,
    npz_file,
    stamps_file,
    vcd_file,
    csv_file,
    raw_file,
)
NEEDED = ("NAME", "LABEL", "NEEDS_RATE", "WHAT", "looks_like", "read")
GZIP = b"\x1f\x8b\x08"


def every_format() -> tuple[CaptureFormat, ...]:
    """Return the house's formats and those of other packages, in the order in which they are tried.

    Files that say what they are come first, then those of other packages; any text with numbers may be a table, any
    bytes at all may be samples.
    """
    outside = tuple(cast("CaptureFormat", module) for module in from_outside(CAPTURE_FORMATS, NEEDED).values())
    place = FORMATS.index(csv_file)
    return (*FORMATS[:place], *outside, *FORMATS[place:])


def kinds(formats: tuple[CaptureFormat, ...]) -> str:
    """Return formats in one line, as help and page name them."""
    telling, untold = (", ".join(f.LABEL for f in formats if f.NEEDS_RATE is needs) for needs in (False, True))
    return f"{telling}; {untold} with their rate; also packed with gzip"


def format_of(head: bytes, *, rate_given: bool) -> CaptureFormat | None:
    """Return the format of a file that begins with `head`, packed or not; None when it is none of these."""
    head = unpacked_head(head)
    tried = (each for each in every_format() if rate_given or not each.NEEDS_RATE)
    return next((each for each in tried if head and each.looks_like(head)), None)


def unpacked_head(head: bytes) -> bytes:
    """Return the beginning of what is packed (gzip, RFC 1952), as far as it goes; anything else as it is."""
    if not head.startswith(GZIP):
        return head
    try:
        return zlib.decompressobj(wbits=31).decompress(head, len(head))
    except zlib.error:
        return b""
