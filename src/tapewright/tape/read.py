"""Read pictures of punched tape from files, as the user says."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.errors import InputError
from tapewright.furniture.document import to_builtins
from tapewright.furniture.limits_file import read_limits
from tapewright.furniture.settings import from_steps
from tapewright.number import Limit
from tapewright.pictures.decode import PictureFile, read_picture
from tapewright.tape.document import Tape
from tapewright.tape.measure import NoTapeError, read_tape
from tapewright.tape.settings import TapeSettings
from tapewright.tape.verdict import LIMITS, MEASURES


def document(tape: Tape) -> dict[str, Any]:
    """Return the document as dictionaries and lists."""
    made: dict[str, Any] = to_builtins(tape)
    return made


def measure(files: Mapping[str, Path], settings: TapeSettings | Mapping[str, Any]) -> Tape:
    """Read "picture" of the files, judged by "limits" when there are some.

    Raises:
        InputError: what cannot be read.
    """
    return measure_picture(read_picture(files["picture"]), settings, files.get("limits"))


def measure_picture(
    picture: PictureFile, settings: TapeSettings | Mapping[str, Any], limits_file: Path | None = None
) -> Tape:
    """Read a picture that is decoded already."""
    if not isinstance(settings, TapeSettings):
        settings = from_steps(TapeSettings, settings)
    return read_tape_picture(picture, settings, limits=limits_of(limits_file))


def limits_of(file: Path | None) -> tuple[Limit, ...]:
    """Return the limits; own ones stand in for the published ones of the same check."""
    if file is None:
        return LIMITS
    own = read_limits(file, {check: unit for check, (unit, _) in MEASURES.items()})
    replaced = {limit.check for limit in own}
    return (*(limit for limit in LIMITS if limit.check not in replaced), *own)


def read_tape_picture(
    source: PictureFile,
    settings: TapeSettings | None = None,
    *,
    expected: tuple[str, ...] | None = None,
    limits: tuple[Limit, ...] = LIMITS,
) -> Tape:
    """Read the tape in a picture.

    Raises:
        InputError: when there is no five-unit tape in it that can be read.
    """
    try:
        return read_tape(
            source.picture, settings, expected=expected, limits=limits, file=source.file, sha256=source.sha256
        )
    except NoTapeError as none:
        raise InputError(source.file, expected=none.expected, found=none.found, do=none.do) from none
