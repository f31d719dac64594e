"""Read a capture file: recognise it by its content, unpack it where it is packed, give a recording for each channel."""

import gzip
import math
import tempfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

from tapewright.errors import InputError, WrongUseError
from tapewright.recordings.capture import Recording
from tapewright.recordings.files.formats import GZIP, every_format, format_of
from tapewright.recordings.files.options import (
    ALLOWED_A_BYTE,
    ALWAYS_ALLOWED,
    FASTEST_HZ,
    SLOWEST_HZ,
    Options,
    Tap,
)

#: bytes shown to the formats so that they can tell whether a file is theirs
HEAD_BYTES = 65_536
PIECE = 1 << 20


def read_recordings(
    path: str | Path,
    *,
    channel: str | None = None,
    rate_hz: float | None = None,
    threshold: Literal["auto"] | tuple[float, ...] = "auto",
    progress: Callable[[float], None] | None = None,
    tap: Tap | None = None,
) -> tuple[Recording, ...]:
    """Return one recording for each channel of the file, or the one asked for.

    Args:
        path: the capture file; what it is called does not matter.
        channel: name of one channel, or its number from 1 on; None for all.
        rate_hz: samples per second, where the file does not tell.
        threshold: "auto", or (middle,) or (low, high) in the file's own units.
        progress: called now and then with the fraction done, 0 to 1.
        tap: takes the samples themselves instead (see `Options`).

    Raises:
        InputError: the file cannot be read: what it is, where, what was expected and found.
        WrongUseError: a rate that is not above zero, thresholds that are not numbers.
    """
    path = Path(path)
    _check(rate_hz, threshold)
    options = Options(channel, rate_hz, threshold, progress, tap)
    with _unpacked(path, _head_of(path)) as plain:
        head = _head_of(plain)
        found = format_of(head, rate_given=rate_hz is not None)
        if found is not None:
            return found.read(plain, options)
    tried = ", ".join(each.NAME for each in every_format())
    do = "Export the capture as CSV or WAV"
    if rate_hz is None:
        do += "; for raw samples say the sample rate with --rate"
    raise InputError(path.name, expected=f"a capture ({tried})", found=_shown(head), do=do + ".")


@contextmanager
def _unpacked(path: Path, head: bytes) -> Iterator[Path]:
    """Unpack a file packed with gzip into a temporary one of the same name; any other stays where it is.

    Raises:
        InputError: it is cut short or damaged, or holds more than a bounded amount.
    """
    if not head.startswith(GZIP):
        yield path
        return
    with tempfile.TemporaryDirectory() as folder:
        plain, left = Path(folder) / path.name, ALWAYS_ALLOWED + ALLOWED_A_BYTE * path.stat().st_size
        try:
            with gzip.open(path) as packed, plain.open("wb") as out:
                while piece := packed.read(PIECE):
                    left -= len(piece)
                    if left < 0:
                        raise InputError(
                            path.name,
                            expected=f"{ALWAYS_ALLOWED >> 20} MB and {ALLOWED_A_BYTE} times its size at most, unpacked",
                            found="more",
                            do="Unpack it, and read the file that comes out.",
                        )
                    out.write(piece)
        except (EOFError, zlib.error, gzip.BadGzipFile) as reason:
            found = "an end before the packed data's own" if isinstance(reason, EOFError) else str(reason)
            do = "The file is cut short or damaged: copy it again."
            raise InputError(path.name, expected="a whole gzip file", found=found, do=do) from reason
        yield plain


def _check(rate_hz: float | None, threshold: Literal["auto"] | tuple[float, ...]) -> None:
    """Refuse numbers that make no sense before a file is touched."""
    if rate_hz is not None and not SLOWEST_HZ <= rate_hz <= FASTEST_HZ:
        expected = f"samples per second, {SLOWEST_HZ:g} to {FASTEST_HZ:g}"
        raise WrongUseError(f"--rate: expected {expected}; found {rate_hz:g}.")
    if threshold != "auto" and not (len(threshold) in (1, 2) and all(math.isfinite(level) for level in threshold)):
        raise WrongUseError(f"--threshold: expected auto, one level, or low,high; found {threshold}.")


def _head_of(path: Path) -> bytes:
    """Read the beginning; a file that is not there or empty is said so."""
    try:
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError as reason:
        found, do = (reason.strerror or "nothing readable").lower(), "Check the name and the folder it is in."
        if isinstance(reason, FileNotFoundError):
            found = "no file of that name"
        elif isinstance(reason, IsADirectoryError):
            found, do = "a folder", "Name the file in it."
        raise InputError(str(path), expected="a capture file", found=found, do=do) from reason
    if not head:
        raise InputError(path.name, expected="a capture", found="an empty file", do="Record or export it again.")
    return head


def _shown(head: bytes) -> str:
    """Show the first line, or the first bytes, of something that nobody recognised."""
    line = head.lstrip(b"\xef\xbb\xbf \r\n\t").split(b"\n")[0].strip()[:60].decode("utf-8", "replace")
    if line and line.isprintable() and "\ufffd" not in line:
        return f"text that begins {line!r}"
    return f"something that begins with the bytes {head[:8].hex(' ')}"
