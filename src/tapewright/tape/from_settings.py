"""Measure a picture of punched tape as the user says."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.alphabets import ALPHABETS
from tapewright.furniture.limits_file import read_limits
from tapewright.message.expected import expected_codes
from tapewright.pictures.decode import PictureFile, read_picture
from tapewright.tape.json import tape_document
from tapewright.tape.measure import TapeOptions
from tapewright.tape.read import TapeReport, read_tape_picture
from tapewright.tape.verdict import LIMITS, MEASURES

DEFAULTS: dict[str, Any] = {
    "dpi": None, "alphabet": "ita2", "expect": None, "feed_line": "auto", "two_hole_side": "auto",
}  # fmt: skip

document = tape_document


def measure(files: Mapping[str, Path], settings: Mapping[str, Any]) -> TapeReport:
    """Read "picture" of the files, judged by "limits" when there are some.

    Raises:
        InputError, WrongUseError: what cannot be read, what makes no sense.
    """
    return measure_picture(read_picture(files["picture"]), files, settings)


def measure_picture(picture: PictureFile, files: Mapping[str, Path], settings: Mapping[str, Any]) -> TapeReport:
    """The same with a picture that is decoded already."""
    return read_tape_picture(picture, tape_options(DEFAULTS | dict(settings), files.get("limits")))


def tape_options(said: Mapping[str, Any], limits_file: Path | None) -> TapeOptions:
    """Return what the user says about the tape; own limits stand in for the published ones of the same check."""
    alphabet = ALPHABETS[said["alphabet"]]
    limits = LIMITS
    if limits_file:
        own = read_limits(limits_file, {check: unit for check, (unit, _) in MEASURES.items()})
        replaced = {limit.check for limit in own}
        limits = (*(limit for limit in LIMITS if limit.check not in replaced), *own)
    return TapeOptions(
        alphabet=alphabet, dpi=said["dpi"], expected=expected_codes(said["expect"], alphabet),
        feed_line=said["feed_line"], two_hole_side=said["two_hole_side"], limits=limits,
    )  # fmt: skip
