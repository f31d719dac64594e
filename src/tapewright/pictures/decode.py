"""Decode a picture file: headers first, by Pillow, with limits; then the pixels, by OpenCV.

A few bytes can promise a picture of 60,000 by 60,000 pixels, so size, mode and number of frames are read from the
header and refused there, before any memory is taken. A file that ends too soon is refused too: a half-grey
picture would be read as half a tape.

Does a picture file end where it should? Each kind says so in its own way; decoders often fill up with grey.
"""

import hashlib
import io
import struct
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from tapewright.errors import InputError
from tapewright.pictures.picture import GreyArray, Picture

if TYPE_CHECKING:
    from PIL.ImageFile import ImageFile

JPEG_END = b"\xff\xd9"
#: Bytes after which a JPEG's end mark may still stand: cameras add padding and thumbnails.
TAIL = 65536


def missing_end(data: bytes) -> str:
    """Say in words what is missing at the end of the file; empty when nothing is (or the kind has no end mark)."""
    if data[:2] == b"\xff\xd8":
        return "" if JPEG_END in data[-TAIL:] else "a JPEG without its end mark: the file is cut short"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return _png(data)
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        promised = struct.unpack_from("<I", data, 4)[0] + 8
        return f"{len(data)} of {promised} bytes" if promised > len(data) else ""
    return ""


def _png(data: bytes) -> str:
    """Walk the chunks: 4 bytes length, 4 bytes name, the content, 4 bytes check."""
    place = 8
    while place + 12 <= len(data):
        length, name = struct.unpack_from(">I4s", data, place)
        if name == b"IEND":
            return ""
        place += 12 + length
    return "a PNG without its last chunk: the file is cut short"


#: Memory that one picture may take while it is decoded and read, and what a pixel takes: its channels and depth twice
#: (as decoded, as 8 bits), and the grey levels in all sizes.
BUDGET_BYTES, LEVELS_BYTES = 2_000_000_000, 3
LARGEST_BYTES = 1 << 30
MOST_PAGES = 1000
SMALLEST_SIDE = 24
KINDS = ("PNG", "JPEG", "TIFF", "WEBP", "MPO")
#: Pillow modes that are pictures in grey or colour; what is left out is said in the message.
MODES = {"1", "L", "LA", "RGB", "RGBA", "I", "I;16", "I;16B", "I;16L", "I;16N", "CMYK", "YCbCr", "P", "PA", "F"}
#: Bytes of a pixel in these modes; 4 in all others (a library may add a channel).
MODE_BYTES = {"1": 1, "L": 1, "P": 4, "I;16": 2, "I;16B": 2, "I;16L": 2, "I;16N": 2}
EXPECTED = "a PNG, JPEG, TIFF or WebP picture of punched tape"
BY_PILLOW = ("P", "PA", "F")
EXIF_ORIENTATION = 274
#: EXIF orientation -> (mirror left to right first, quarter turns clockwise after that)
UPRIGHT = {1: (False, 0), 2: (True, 0), 3: (False, 2), 4: (True, 2), 5: (True, 3), 6: (False, 1), 7: (True, 1),
           8: (False, 3)}  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class PictureFile:
    """A decoded file with the facts about it.

    Attributes:
        picture: the pixels, upright.
        file: its name as given.
        sha256: hash of its bytes.
    """

    picture: Picture
    file: str
    sha256: str


@dataclass(frozen=True, slots=True)
class _Header:
    mode: str
    dpi: tuple[float, float] | None
    orientation: int
    tiff: bool


def read_picture(path: Path) -> PictureFile:
    """Read one picture file.

    Raises:
        InputError: when it is not one whole picture of a sensible size.
        OSError: when the file cannot be opened.
    """
    name = str(path)
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError(name, expected=f"a picture file below {LARGEST_BYTES >> 20} MB",
                         found=f"{path.stat().st_size >> 20} MB", do="Scan at a lower resolution.")  # fmt: skip
    return _read_bytes(name, path.read_bytes())


def _read_bytes(name: str, data: bytes) -> PictureFile:
    header = _check_header(name, data)
    lacking = missing_end(data)
    if lacking:
        raise InputError(name, place=f"byte {len(data)}", expected="the whole picture", found=lacking,
                         do="Copy or scan it again.")  # fmt: skip
    pixels = _decode(name, data, header)
    if not header.tiff:  # both libraries turn every TIFF upright by themselves
        pixels = _upright(pixels, header.orientation)
    dpi = header.dpi
    if dpi and header.orientation >= 5:
        dpi = (dpi[1], dpi[0])
    return PictureFile(Picture(pixels, dpi), name, hashlib.sha256(data).hexdigest())


def has_pages(path: Path) -> bool:
    """Return whether a file is a TIFF of several pages; False for what cannot be opened."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            Image.MAX_IMAGE_PIXELS = None
            with Image.open(path) as image:
                return image.format == "TIFF" and int(getattr(image, "n_frames", 1)) > 1
    except (OSError, ValueError, SyntaxError, KeyError, IndexError, TypeError, AttributeError, EOFError, struct.error,
            OverflowError, ZeroDivisionError, MemoryError, RuntimeError):  # fmt: skip
        return False


def read_pages(path: Path) -> list[PictureFile]:
    """Read every page of a TIFF of several pages; of any other file its one picture.

    Raises:
        InputError, OSError: as `read_picture`; the page is named.
    """
    if not has_pages(path) or path.stat().st_size > LARGEST_BYTES:
        return [read_picture(path)]
    from PIL import Image

    with Image.open(path) as image:
        pages = min(int(getattr(image, "n_frames", 1)), MOST_PAGES)
        return [_page(f"{path}, page {n + 1}", image, n) for n in range(pages)]


def _page(name: str, image: "ImageFile", number: int) -> PictureFile:
    """Read one page, saved as a file of its own: so it is checked and decoded as any other."""
    data = io.BytesIO()
    try:
        image.seek(number)
        _refuse_odd(name, "TIFF", image.size, image.mode, 1)
        image.save(data, "TIFF", dpi=image.info.get("dpi", (0, 0)))
    except (OSError, ValueError, SyntaxError, KeyError, IndexError, TypeError, AttributeError, EOFError, struct.error,
            OverflowError, ZeroDivisionError, MemoryError, RuntimeError) as why:  # fmt: skip
        raise InputError(name, expected=EXPECTED, found=f"a damaged page ({why})") from None
    return _read_bytes(name, data.getvalue())


def _check_header(name: str, data: bytes) -> _Header:
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            # its own limit is smaller than ours; only the header is read here
            Image.MAX_IMAGE_PIXELS = None
            with Image.open(io.BytesIO(data)) as image:
                _refuse_odd(name, image.format, image.size, image.mode, int(getattr(image, "n_frames", 1)))
                # asking a PNG for its EXIF makes the library decode all of it
                asks = image.format != "PNG" or b"eXIf" in data
                orientation = _orientation(image.getexif() if asks else {})
                return _Header(image.mode, _dpi(image.info.get("dpi")), orientation, image.format == "TIFF")
    except InputError:
        raise
    except UnidentifiedImageError:
        raise InputError(name, expected=EXPECTED, found="a file of another kind") from None
    except (OSError, ValueError, SyntaxError, KeyError, IndexError, TypeError, AttributeError, EOFError, struct.error,
            OverflowError, ZeroDivisionError, MemoryError, RuntimeError) as why:  # fmt: skip
        # a picture library meets damaged headers with all of these
        raise InputError(name, place="header", expected=EXPECTED, found=f"a damaged header ({why})") from None


def _refuse_odd(name: str, kind: str | None, size: tuple[int, int], mode: str, frames: int) -> None:
    width, height = size
    if kind not in KINDS:
        raise InputError(name, expected=EXPECTED, found=f"a {kind} file")
    a_pixel = 2 * MODE_BYTES.get(mode, 4) + LEVELS_BYTES
    if width * height * a_pixel > BUDGET_BYTES or max(size) > 120_000:
        fits = BUDGET_BYTES // a_pixel // 10**6
        most = f"at most {fits} million pixels of this kind, {BUDGET_BYTES // 10**9} GB in memory"
        raise InputError(name, place="header", expected=most, found=f"{width} by {height} pixels",
                         do="Scan a shorter piece, or coarser, or in grey.")  # fmt: skip
    if min(size) < SMALLEST_SIDE:
        raise InputError(name, place="header", expected=EXPECTED,
                         found=f"{width} by {height} pixels, too small for a tape")
    if frames > 1 and kind != "MPO":
        raise InputError(name, place="header", expected="one picture",
                         found=f"{frames} pictures: animated, or many pages",
                         do="Save the one that shows the tape by itself.")  # fmt: skip
    if mode not in MODES:
        raise InputError(name, place="header", expected="a picture in grey or colour", found=f"mode {mode}",
                         do="Save it in grey.")  # fmt: skip


def _dpi(tag: object) -> tuple[float, float] | None:
    """Return a resolution that could be one; a 1 by 1 is none."""
    try:
        across, down = (float(part) for part in tag)  # type: ignore[attr-defined]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    known = 50 <= across <= 10_000 and 50 <= down <= 10_000
    return (across, down) if known else None


def _orientation(exif: object) -> int:
    value = exif.get(EXIF_ORIENTATION, 1) if hasattr(exif, "get") else 1
    return value if isinstance(value, int) and value in UPRIGHT else 1


def _by_pillow(name: str, data: bytes, mode: str) -> GreyArray:
    """Decode what OpenCV does not: colours from a palette, levels as floating point numbers."""
    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(io.BytesIO(data)) as image:
                pixels = np.asarray(image if mode == "F" else image.convert("RGBA"))
    except (OSError, ValueError, SyntaxError, KeyError, IndexError, TypeError, AttributeError, EOFError, struct.error,
            OverflowError, ZeroDivisionError, MemoryError, RuntimeError) as why:  # fmt: skip
        found = f"pixels that cannot be decoded ({why})"
        raise InputError(name, expected=EXPECTED, found=found, do="Save it again.") from None
    if mode == "F":
        return _eight_bit(pixels)
    return _without_alpha(np.ascontiguousarray(pixels[:, :, [2, 1, 0, 3]]))


def _decode(name: str, data: bytes, header: _Header) -> GreyArray:
    if header.mode in BY_PILLOW:
        return _by_pillow(name, data, header.mode)
    buffer = np.frombuffer(data, np.uint8)
    level = cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)
    try:
        if header.mode in ("LA", "RGBA"):
            pixels = cv2.imdecode(buffer, cv2.IMREAD_UNCHANGED)
        else:
            pixels = cv2.imdecode(buffer, cv2.IMREAD_ANYCOLOR | cv2.IMREAD_ANYDEPTH | cv2.IMREAD_IGNORE_ORIENTATION)
    except (cv2.error, MemoryError):
        pixels = None
    finally:
        cv2.utils.logging.setLogLevel(level)
    if pixels is None or not pixels.size:
        raise InputError(name, expected=EXPECTED, found="pixels that cannot be decoded", do="Save it again.")
    return _without_alpha(_eight_bit(pixels))


def _eight_bit(pixels: np.ndarray) -> np.ndarray:
    """Bring 16-bit and float levels to 0 to 255 by their own range; holes are told by contrast, not by level."""
    if pixels.dtype == np.uint8:
        return pixels
    finite = pixels[np.isfinite(pixels)]
    low, high = (float(finite.min()), float(finite.max())) if finite.size else (0.0, 0.0)
    scale = 255.0 / (high - low) if high > low else 0.0
    return np.asarray(cv2.convertScaleAbs(np.nan_to_num(pixels), alpha=scale, beta=-low * scale), np.uint8)


def _without_alpha(pixels: np.ndarray) -> np.ndarray:
    """Lay a picture with transparent parts on white."""
    if pixels.ndim == 2 or pixels.shape[2] == 3:
        return pixels
    if pixels.shape[2] != 4:
        return np.ascontiguousarray(pixels[:, :, 0])
    alpha = pixels[:, :, 3:4].astype(np.uint16)
    if alpha.min() == 255:
        return np.ascontiguousarray(pixels[:, :, :3])
    return ((pixels[:, :, :3] * alpha + 255 * (255 - alpha)) // 255).astype(np.uint8)


def _upright(pixels: GreyArray, orientation: int) -> GreyArray:
    mirror, turns = UPRIGHT[orientation]
    if not mirror and not turns:
        return pixels
    pixels = pixels[:, ::-1] if mirror else pixels
    return np.ascontiguousarray(np.rot90(pixels, -turns))
