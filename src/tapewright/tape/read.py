"""Read pictures of punched tape from files, as the user says."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from tapewright.alphabets import decode
from tapewright.errors import InputError
from tapewright.furniture.document import to_builtins
from tapewright.furniture.limits_file import read_limits
from tapewright.furniture.settings import from_steps
from tapewright.number import Limit
from tapewright.pictures.decode import PictureFile, read_pages, read_picture
from tapewright.tape.document import JoinedTape, Piece, Tape, Unread
from tapewright.tape.join import put_in_order
from tapewright.tape.measure import NoTapeError, read_tape
from tapewright.tape.settings import TapeSettings
from tapewright.tape.verdict import LIMITS, MEASURES

GAP = (
    "Nothing joins the rows before row {row} with those from it on: something may be missing there, or the order may "
    "be another."
)


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


def measure_several(
    paths: Sequence[Path],
    settings: TapeSettings,
    limits_file: Path | None = None,
    progress: Callable[[float], None] = lambda _: None,
) -> JoinedTape:
    """Read several pictures of one tape and join them.

    Args:
        paths: pictures and folders of pictures; a TIFF may have several pages.
        settings: what the user says.
        limits_file: own limits.
        progress: takes the fraction done.

    Raises:
        InputError: when not one of them could be read.
    """
    limits = limits_of(limits_file)
    files = [file for path in paths for file in (sorted(path.iterdir()) if path.is_dir() else [path])]
    tapes, unread = list[Tape](), list[Unread]()
    for n, file in enumerate(files):
        try:
            tapes += [read_tape_picture(page, settings, limits=limits) for page in read_pages(file)]
        except (InputError, OSError) as why:
            unread.append(Unread(file=str(file), why=str(why)))
        progress((n + 1) / len(files))
    if not tapes:
        found = unread[0].why if unread else "no picture"
        names = ", ".join(str(path) for path in paths)
        raise InputError(names, expected="at least one picture of punched tape", found=found)
    return join_tapes(tapes, unread, settings)


def join_tapes(tapes: Sequence[Tape], unread: Sequence[Unread], settings: TapeSettings) -> JoinedTape:
    """Join the strips of several pictures by the rows that they share."""
    strips = [(n, k, strip) for n, tape in enumerate(tapes) for k, strip in enumerate(tape.strips)]
    order = put_in_order([strip.codes for _, _, strip in strips], [strip.direction_sure for _, _, strip in strips])
    codes, doubtful, pieces, gaps = list[str](), list[bool](), list[Piece](), list[int]()
    for placed in order:
        picture, number, strip = strips[placed.piece]
        rows = strip.rows[::-1] if placed.reversed else strip.rows
        shared = placed.overlap.rows if placed.overlap else 0
        first = len(codes) - shared
        differing = []
        for n, row in enumerate(rows[:shared], start=first):
            if row.code != codes[n]:
                differing.append(n)
                if doubtful[n] and not row.notes:
                    codes[n], doubtful[n] = row.code, False
        if placed.overlap is None and codes:
            gaps.append(len(codes))
        codes += [row.code for row in rows[shared:]]
        doubtful += [bool(row.notes) for row in rows[shared:]]
        pieces.append(
            Piece(
                picture=picture,
                strip=number,
                first_row=first,
                reversed=placed.reversed,
                shared_rows=placed.overlap.rows if placed.overlap else None,
                differing_rows=tuple(differing),
            )
        )
    return JoinedTape(
        text=decode(codes, settings.table),
        codes=tuple(codes),
        pieces=tuple(pieces),
        gaps=tuple(gaps),
        notes=_joined_notes(pieces, gaps),
        unread=tuple(unread),
        pictures=tuple(tapes),
    )


def _joined_notes(pieces: Sequence[Piece], gaps: Sequence[int]) -> tuple[str, ...]:
    notes = [GAP.format(row=row) for row in gaps]
    differing = [row for piece in pieces for row in piece.differing_rows]
    if differing:
        notes.append(f"Two pictures show rows {', '.join(map(str, differing[:12]))} otherwise: look at the tape there.")
    return tuple(notes)
