"""The formats a signal can be written in. To add one: one file like the others, one line in FORMATS."""

from pathlib import Path
from typing import Protocol

from tapewright.errors import WrongUseError
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


def format_of(path: Path) -> SignalFormat:
    """Return the format that the suffix of a file asks for.

    Raises:
        WrongUseError: when there is none for it.
    """
    found = FORMATS.get(path.suffix.lower())
    if found is None:
        known = ", ".join(FORMATS)
        raise WrongUseError(f"{path.name}: the name must end in one of {known}, so that the format is known.")
    return found


def write_signal(path: Path, composed: Composed, progress: Progress) -> None:
    """Write a signal in the format of the suffix; a file of that name appears only when it is whole."""
    with whole(path) as unfinished:
        format_of(path).write(unfinished, composed, progress)
