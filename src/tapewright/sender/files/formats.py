"""The formats a signal can be written in. To add one: a file like the others, a line in FORMATS or an entry point."""

from pathlib import Path
from typing import Protocol, cast

from tapewright.errors import WrongUseError
from tapewright.furniture.plug_ins import SIGNAL_FORMATS, from_outside
from tapewright.furniture.whole_file import whole
from tapewright.sender.compose import Composed, Contents, Progress
from tapewright.sender.files import csv_writer, npy_writer, npz_writer, tsv_writer, vcd_writer, wav_writer


class SignalFormat(Protocol):
    """What a module that writes one format offers."""

    #: what the file is, in a few words
    WHAT: str
    #: what it can hold, the usual first
    CONTENTS: tuple[Contents, ...]
    #: sample rate when none is asked for
    RATE_HZ: float

    def write(self, path: Path, composed: Composed, progress: Progress) -> None:
        """Write the signal to `path`."""


#: suffix -> module
FORMATS: dict[str, SignalFormat] = {
    ".wav": wav_writer,
    ".csv": csv_writer,
    ".tsv": tsv_writer,
    ".vcd": vcd_writer,
    ".npy": npy_writer,
    ".npz": npz_writer,
}
NEEDED = ("WHAT", "CONTENTS", "RATE_HZ", "write")


def format_of(path: Path) -> SignalFormat:
    """Return the format that the suffix of a file asks for.

    Raises:
        WrongUseError: when there is none for it.
    """
    suffix = path.suffix.lower()
    if suffix in FORMATS:
        return FORMATS[suffix]
    # an entry point is named by the suffix, without its point
    outside = {f".{name}": module for name, module in from_outside(SIGNAL_FORMATS, NEEDED).items()}
    if suffix not in outside:
        known = ", ".join([*FORMATS, *outside])
        raise WrongUseError(f"{path.name}: the name must end in one of {known}, so that the format is known.")
    return cast("SignalFormat", outside[suffix])


def write_signal(path: Path, composed: Composed, progress: Progress) -> None:
    """Write a signal in the format of the suffix; a file of that name appears only when it is whole."""
    with whole(path) as unfinished:
        format_of(path).write(unfinished, composed, progress)
