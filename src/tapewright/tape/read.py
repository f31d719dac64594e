"""Read a picture of punched tape and judge it."""

from dataclasses import dataclass
from typing import Protocol

from tapewright.errors import InputError
from tapewright.pictures.picture import Picture
from tapewright.tape.document import TapeReading
from tapewright.tape.find import find_strips
from tapewright.tape.measure import OtherTapeError, TapeOptions, read_tape


class DecodedPicture(Protocol):
    """What a picture reader gives."""

    @property
    def picture(self) -> Picture:
        """The pixels, upright."""

    @property
    def file(self) -> str:
        """The file's name."""

    @property
    def sha256(self) -> str:
        """The hash of its bytes."""


@dataclass(frozen=True, slots=True, eq=False)
class TapeReport:
    """What was read, and from which file."""

    reading: TapeReading
    file: str
    sha256: str


def read_tape_picture(source: DecodedPicture, options: TapeOptions) -> TapeReport:
    """Read the tape in a picture.

    Raises:
        InputError: when there is no tape in it that can be read.
    """
    try:
        reading = read_tape(source.picture, options)
    except OtherTapeError as other:
        raise InputError(
            source.file, expected="five-unit tape: two tracks on one side of the feed holes, three on the other",
            found=str(other), do="Leave what is no five-unit tape out of the picture.",
        ) from other  # fmt: skip
    if reading is None and find_strips(source.picture).strips:
        raise InputError(
            source.file, expected="the tape in its whole width, all five tracks and both edges, for four rows or more",
            found="a row of feed holes whose code holes lie partly outside the picture, or are torn or covered",
            do="Scan it again with some ground showing along both edges.",
        )  # fmt: skip
    if reading is None:
        raise InputError(
            source.file, expected="punched tape with its row of feed holes, at least six rows of it in the picture",
            found="no evenly spaced row of small round holes",
            do="Lay the tape on black card, or against the light, and scan it flat at 150 to 1200 dpi. White paper on "
               "a white lid shows only the rims of its holes, and rims are not read.",
        )  # fmt: skip
    return TapeReport(reading, source.file, source.sha256)
