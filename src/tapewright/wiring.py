"""The only file that knows which adapter serves which port."""

import secrets
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tapewright.errors import InputError, WrongUseError

if TYPE_CHECKING:
    from tapewright.adapters.bundle.zip_reader import ZipReader
    from tapewright.app.back_up import Shelf
    from tapewright.app.export_book import Exported, NewBundle
    from tapewright.app.plan_drive import SearchOrder
    from tapewright.app.ports import Book, CaptureFiles, Progress
    from tapewright.app.read_coil_current import Reader
    from tapewright.app.recompute import Rejudged
    from tapewright.core.alphabets import Alphabet
    from tapewright.core.book.entry import Entry
    from tapewright.core.book.soundness import Soundness
    from tapewright.core.diagnosis.machine_model import Model
    from tapewright.core.magnet.plan import Request
    from tapewright.core.mechanism.journal import Journal
    from tapewright.core.mechanism.requirement import Sheet
    from tapewright.core.simulate.faulty_machine import FaultyMachine

    Ask = Callable[[Sheet], Journal]

#: Practice machines are numbered below this.
LARGEST_SEED = 1_000_000


def capture_files() -> "CaptureFiles":
    """Give what reads capture files."""
    from tapewright.adapters.capture_files.on_disk import CaptureFilesOnDisk

    return CaptureFilesOnDisk()


def open_book(where: str | None = None, *, create: bool = True) -> "Book":
    """Open the book in a file or at an address; None is the user's own. Begin one where there is none.

    Raises:
        InputError: when it is no book, or there is none and `create` is false.
    """
    from tapewright.adapters.book.open import open_book as opened

    return opened(where, create=create)


def book_with(where: str | None, machine: str) -> "Book | None":
    """Give the book if it has this machine; None when it has not, or when there is no book.

    Raises:
        InputError: when the book cannot be opened.
    """
    from tapewright.adapters.book.place import place_of

    place = place_of(where)
    if place.file is not None and not place.file.exists():
        return None
    book = open_book(where, create=False)
    try:
        book.machine(machine)
    except InputError:
        book.close()
        return None
    return book


def drive_file(
    path: Path | None, options: Mapping[str, Any], *, search: bool
) -> "tuple[Request, SearchOrder | None]":
    """Read a drive file and the options above it into a request, and what to search."""
    from tapewright.adapters.drive_file import order_from, read_sections, request_from

    sections = read_sections(path, options)
    return request_from(sections), order_from(sections, search=search)


def practice_faults(model: "Model") -> list[str]:
    """Give the faults of a model that the practice machine can have."""
    from tapewright.core.simulate.faulty_machine import FAULTS

    return [name for name in model.causes if name in FAULTS]


def deal_practice_machine(model: "Model", seed: int | None, count: int, fault: str) -> "tuple[int, FaultyMachine]":
    """Deal a practice machine for a model; give its number with it, so that it can be dealt again.

    Raises:
        WrongUseError: for a fault the practice machine cannot have.
    """
    import numpy as np

    from tapewright.core.simulate.faulty_machine import deal, deal_random

    number = secrets.randbelow(LARGEST_SEED) if seed is None else seed
    rng = np.random.default_rng(abs(number))
    if fault and fault not in practice_faults(model):
        raise WrongUseError(f"the practice machine cannot have {fault!r}; `practice --list-faults` lists its faults")
    return number, deal([fault], rng) if fault else deal_random(model.causes, count, rng)


def practice_file(where: str | None) -> Path:
    """Give the file in which the bench keeps rounds of practice: beside the book, else in the user's data folder."""
    from tapewright.adapters.book.place import data_folder, place_of

    file = place_of(where).file
    return data_folder() / "practice.json" if file is None else file.with_name(f"{file.name}.practice.json")


def planned_signal(pattern_name: str, count: int, alphabet: "Alphabet", baud: float) -> bytes:
    """Give the signal of a test of the plan as a sound file: an ideal sender, mark high."""
    import tempfile

    from tapewright.adapters.capture_writers.formats import FORMATS, write_signal
    from tapewright.app.compose_signal import Sender, compose_signal
    from tapewright.core.simulate.instrument import Instrument
    from tapewright.core.simulate.keying import Keying
    from tapewright.core.simulate.patterns import pattern

    codes = pattern(pattern_name, alphabet, count)
    sound = Instrument(rate_hz=FORMATS[".wav"].RATE_HZ, mark_v=0.45, space_v=-0.45, threshold_v=0.0, anti_alias=True,
                       bits=16, full_scale_v=1.0)  # fmt: skip
    composed = compose_signal(codes, Sender(baud=baud), Keying(), sound, FORMATS[".wav"].CONTENTS[0], 1)
    with tempfile.TemporaryDirectory(prefix="tapewright-") as folder:
        write_signal(path := Path(folder) / "signal.wav", composed, lambda _: None)
        return path.read_bytes()


def coil_current_reader(channel: str | None, rate_hz: float | None) -> "Reader":
    """Give what reads the samples of a recorded current."""
    from functools import partial

    from tapewright.adapters.capture_files.waveform import read_waveform

    return partial(read_waveform, channel=channel, rate_hz=rate_hz)


def new_machine_key() -> str:
    """Give a key for a new machine that no other machine in any book has: 128 random bits in hex."""
    return secrets.token_hex(16)


def program_version() -> str:
    """Give the version that stands beside what this program writes."""
    from tapewright import __version__

    return __version__


def new_bundle(path: Path) -> "NewBundle":
    """Give what opens a new bundle at this place."""
    from functools import partial

    from tapewright.adapters.bundle.zip_writer import new_bundle as opened
    from tapewright.core.book.bundle.members import Limits

    return partial(opened, path, Limits())


def open_bundle(path: Path, *, largest_gib: float) -> "ZipReader":
    """Open a bundle for reading; its envelope and manifest are checked.

    Raises:
        InputError: when it is no bundle, or larger than allowed.
    """
    from tapewright.adapters.bundle.zip_reader import ZipReader
    from tapewright.core.book.bundle.members import GIB, Limits

    return ZipReader(path, Limits(total_bytes=int(largest_gib * GIB)))


def machine_in_book(where: str | None, machine: str) -> str:
    """Give the name of a machine that the book knows.

    Raises:
        InputError: no such book or machine.
    """
    book = open_book(where, create=False)
    try:
        return book.machine(machine).name
    finally:
        book.close()


def keep_in_book(
    where: str | None,
    machine: str,
    document: dict[str, Any],
    files: Mapping[str, Path],
    command: str,
    settings: Mapping[str, Any],
    noted: Mapping[str, Any],
) -> "tuple[str, Entry]":
    """Write a result into the book with the files and the steps that made it; give the machine's name and the line.

    Args:
        where: the book; None is the user's own.
        machine: name or key.
        document: the result.
        files: the files it was made from, by what they are.
        command: the command that made it.
        settings: what the user said.
        noted: how it was measured: phase, by, instrument, temperature_c, running_minutes, note.

    Raises:
        InputError: no such book or machine, or a file that changed meanwhile.
    """
    from tapewright.adapters.book.raw_file import raw_file
    from tapewright.app.keep_result import keep_result
    from tapewright.app.record_evidence import Taken

    book = open_book(where, create=False)
    try:
        name = book.machine(machine).name
        raw = [raw_file(role, path) for role, path in files.items()]
        steps = {"command": command, "settings": dict(settings)}
        return name, keep_result(book, machine, document, raw, steps, Taken(**noted))
    finally:
        book.close()


def enter_in_book(
    where: str | None, machine: str, sheet: Path | None, variant: str, noted: Mapping[str, Any], ask: "Ask"
) -> "tuple[str, Entry] | None":
    """Have readings of a machine of the book typed in and write them; give its name and the line, None for none typed.

    Args:
        where: the book; None is the user's own.
        machine: name or key.
        sheet: its sheet, for a machine that has none in the book yet; None for the one in the book.
        variant: variant of the machine, with `sheet`.
        noted: how it was measured: phase, by, instrument, ...
        ask: asks for the readings of a sheet.

    Raises:
        InputError: no such book or machine, or no sheet; readings that do not fit it.
        WrongUseError: a sheet that is not the machine's own.
    """
    from tapewright.adapters.book.raw_file import raw_file
    from tapewright.adapters.sheet_files.from_book import SheetFilesInBook, add_readings
    from tapewright.app.check_from_book import bring_first_sheet, sheet_in_book
    from tapewright.app.record_evidence import Taken

    book = open_book(where, create=False)
    try:
        name = book.machine(machine).name
        if sheet is not None:
            bring_first_sheet(book, machine, raw_file("sheet", sheet), variant, str(noted.get("by", "")))
        there = sheet_in_book(book, machine)
        readings = ask(SheetFilesInBook(book).sheet(there.sheet, there.variant))
        return (name, add_readings(book, machine, readings, Taken(**noted))) if readings else None
    finally:
        book.close()


def write_in_book(
    where: str | None, machine: str, kind: str, body: dict[str, Any], *, by: str = "", replaces: str = ""
) -> "Entry":
    """Write one line without files into the book.

    Args:
        where: the book.
        machine: name or key.
        kind: one of `KINDS`.
        body: fields of that kind.
        by: who says so.
        replaces: fingerprint of the line it stands for from now on; one that this book does not know is let be.

    Raises:
        InputError: no such book or machine, or a body that is not as it should be.
    """
    from tapewright.app.record_evidence import write_lines

    book = open_book(where, create=False)
    try:
        old = _line_of(book, machine, kind, replaces) if replaces else None
        return write_lines(book, machine, kind, body, by=by, replaces=old)
    finally:
        book.close()


def _line_of(book: "Book", machine: str, kind: str, key: str) -> str | None:
    """Give the key when this book has such a line of this machine."""
    from tapewright.errors import InputError

    try:
        entry = book.entry(key)
    except InputError:
        return None
    return entry.key if entry.new.kind == kind and entry.new.machine == book.machine(machine).key else None


def check_the_book(where: str | None, progress: "Progress") -> "tuple[Soundness, str]":
    """Look through a book that may be damaged; give what was found, and what to call the book.

    Raises:
        InputError: when there is none.
    """
    from tapewright.adapters.book.damaged import check_file
    from tapewright.adapters.book.place import place_of

    return check_file(where, program_version(), progress), place_of(where).said


def shelf_of(where: str | None, *, backup: Path | None = None) -> "Shelf":
    """Give where a book lies, for backup and restore.

    Args:
        where: the book.
        backup: the backup to restore; a bundle is taken in, not put in the book's place.
    """
    from tapewright.adapters.book.place import place_of
    from tapewright.adapters.book.served import ServedBook
    from tapewright.adapters.book.whole_file import BookFile, is_sqlite

    place = place_of(where)
    if place.file is not None and (backup is None or is_sqlite(backup)):
        return BookFile(place.said, place.file, program_version())
    return ServedBook(where, place.said, program_version())


def save_what_is_whole(where: str | None, out: Path, progress: "Progress") -> "Exported":
    """Write what is whole of a damaged book as a bundle.

    Raises:
        InputError: when there is no book, or the bundle cannot be written.
    """
    from tapewright.adapters.book.damaged import open_to_examine
    from tapewright.adapters.book.examine import examining
    from tapewright.adapters.book.open import utc_now
    from tapewright.app.export_book import export_book
    from tapewright.app.save_what_is_whole import whole_only

    book, _ = open_to_examine(where, program_version())
    try:
        with examining(book) as examiner:
            found = whole_only(examiner, utc_now(), program_version())
            files = examiner.only(found.files)
            return export_book(files, found.lines, program_version(), new_bundle(out), progress)
    finally:
        book.close()


def measured_again(
    book: "Book", machine: str, limits: Mapping[str, Path], *, write: bool, by: str
) -> "list[Rejudged]":
    """Measure a machine's evidence again.

    Args:
        book: where it is.
        machine: its key.
        limits: sort of evidence -> file of limits, or sheet, to judge it by instead of its own.
        write: whether to write what is another.
        by: who asks for it.
    """
    from tapewright.adapters.book.laid_out import laid_out
    from tapewright.adapters.book.raw_file import raw_file
    from tapewright.adapters.measuring.again import measure_again
    from tapewright.app.recompute import LIMITS_FROM, recompute

    files = {sort: raw_file(LIMITS_FROM[sort], path) for sort, path in limits.items()}
    return list(recompute(book, machine, measure_again, laid_out, limits=files, write=write, by=by))
