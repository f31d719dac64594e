"""Files that are no picture of tape: one clear paragraph and exit 4, whatever the bytes."""

import contextlib
import io
import struct
import zlib

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw

from tape_pictures.drawn_tape import Look, draw
from tapewright.alphabets import ITA2, encode
from tapewright.errors import InputError
from tapewright.pictures.decode import read_picture
from tapewright.terminal.run import run

CODES = encode("SKERRY POINT HARBOUR MUSEUM", ITA2)


def saved(image, kind, **how):
    data = io.BytesIO()
    image.save(data, kind, **how)
    return data.getvalue()


def png_header(width, height):
    """A PNG that promises a size and holds a few bytes (PNG specification, 11.2.2)."""
    def chunk(name, body):
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    ends = chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + ends


def page(words):
    image = Image.new("L", (900, 1200), 250)
    pen = ImageDraw.Draw(image)
    for line in range(50):
        pen.text((60, 40 + 22 * line), words, fill=20)
    return image


def tape():
    return Image.fromarray(draw(CODES, Look(dpi=150)).image)


def frames(count):
    return [Image.new("L", (200, 100), 10 * n) for n in range(count)]


JUNK = {
    "nothing": b"",
    "text": b"not a picture at all\n" * 20,
    "1x1": saved(Image.new("L", (1, 1)), "PNG"),
    "empty page": saved(Image.new("L", (800, 600), 255), "PNG"),
    "noise": saved(Image.fromarray(np.random.default_rng(1).integers(0, 255, (500, 700), np.uint8)), "PNG"),
    "text page": saved(page("The quick brown fox jumps over the lazy dog, twice."), "PNG"),
    "dotted lines": saved(page(". . . . . . . . . . . . . . . . . . . . . . . . . . ."), "PNG"),
    "header bomb": png_header(60_000, 60_000),
    "truncated jpeg": saved(tape(), "JPEG")[:-2000],
    "truncated png": saved(tape(), "PNG")[:-2000],
    "animated": saved(frames(1)[0], "PNG", save_all=True, append_images=frames(3)[1:]),
    "many pages": saved(frames(1)[0], "TIFF", save_all=True, append_images=frames(3)[1:]),
    "gif": saved(Image.new("L", (200, 100)), "GIF"),
}


@pytest.mark.parametrize("data", JUNK.values(), ids=JUNK.keys())
def test_junk_ends_with_exit_4_and_one_paragraph(data, tmp_path, capsys):
    path = tmp_path / "picture.png"
    path.write_bytes(data)
    assert run(["tape", "read", str(path)]) == 4
    out, err = capsys.readouterr()
    assert out == ""
    assert "picture.png" in err
    assert "expected" in err
    assert "Traceback" not in err


def test_a_missing_file_ends_with_exit_4(tmp_path, capsys):
    assert run(["tape", "read", str(tmp_path / "none.png")]) == 4


WHOLE = {
    "PNG": saved(tape(), "PNG"), "JPEG": saved(tape(), "JPEG", quality=85),
    "TIFF": saved(tape(), "TIFF"), "WEBP": saved(tape(), "WEBP"),
}  # fmt: skip


@pytest.mark.parametrize("kind", WHOLE)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_damaged_files_are_read_or_refused_never_crash(kind, tmp_path, data):
    whole = bytearray(WHOLE[kind])
    for _ in range(data.draw(st.integers(1, 8))):
        whole[data.draw(st.integers(0, min(len(whole) - 1, 400)))] = data.draw(st.integers(0, 255))
    path = tmp_path / "damaged"
    path.write_bytes(bytes(whole[: data.draw(st.integers(1, len(whole)))]))
    with contextlib.suppress(InputError):
        assert read_picture(path).picture.pixels.ndim in (2, 3)


@pytest.mark.parametrize("kind", WHOLE)
def test_every_kind_reads(kind, tmp_path, capsys):
    path = tmp_path / "tape"
    path.write_bytes(WHOLE[kind])
    assert run(["tape", "read", str(path)]) in (0, 1, 3)
    assert "SKERRY POINT HARBOUR MUSEUM" in capsys.readouterr().out


def test_sixteen_bits_colour_and_alpha_read(tmp_path, capsys):
    grey = np.array(tape())
    cv2.imwrite(str(tmp_path / "16.png"), (grey.astype(np.uint16) * 16 + 300))
    Image.fromarray(np.dstack([grey, grey // 2 + 60, grey // 3])).save(tmp_path / "colour.png")
    Image.merge("LA", (tape(), Image.new("L", tape().size, 255))).save(tmp_path / "alpha.png")
    for name in ("16.png", "colour.png", "alpha.png"):
        assert run(["tape", "read", str(tmp_path / name)]) in (0, 1, 3)
        assert "SKERRY POINT HARBOUR MUSEUM" in capsys.readouterr().out


@pytest.mark.parametrize("kind", ["palette", "floating point", "CMYK"])
def test_other_ways_to_hold_levels_read(kind, tmp_path, capsys):
    path, image = tmp_path / "tape.tif", tape()
    if kind == "floating point":
        image = Image.fromarray(np.array(image, np.float32) / 255)
    else:
        image = image.convert("P") if kind == "palette" else image.convert("RGB").convert("CMYK")
    image.save(path)
    assert run(["tape", "read", str(path)]) in (0, 1, 3)
    assert "SKERRY POINT HARBOUR MUSEUM" in capsys.readouterr().out


def test_what_does_not_fit_into_memory_is_refused_in_our_words(tmp_path, capsys):
    """240 million pixels are below the limit for grey and above it for colour; the file has a few bytes of each."""
    path = tmp_path / "large.png"
    path.write_bytes(png_header(30_000, 8_000))
    assert run(["tape", "read", str(path)]) == 4
    assert "bomb" not in capsys.readouterr().err
    path.write_bytes(png_header(60_000, 9_000))
    assert run(["tape", "read", str(path)]) == 4
    assert "million pixels" in capsys.readouterr().err


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_tiff_is_turned_upright(orientation, tmp_path):
    """TIFF 6.0, Orientation (tag 274): what row 0 and column 0 of the stored picture are."""
    path, stored = tmp_path / "scan.tif", np.array(tape())
    Image.fromarray(stored).save(path, tiffinfo={274: orientation})
    upright = {
        1: stored,  # row 0 is the top, column 0 the left
        2: stored[:, ::-1],  # top, right
        3: stored[::-1, ::-1],  # bottom, right
        4: stored[::-1],  # bottom, left
        5: stored.T,  # left, top
        6: stored[::-1].T,  # right, top
        7: stored[::-1, ::-1].T,  # right, bottom
        8: stored[:, ::-1].T,  # left, bottom
    }
    assert np.array_equal(read_picture(path).picture.pixels, upright[orientation])


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_turns_the_picture_upright(orientation, tmp_path):
    """EXIF 2.3, tag 0112H: what row 0 and column 0 are; undone by the general library's own transposition."""
    plain = tape()
    exif = Image.Exif()
    exif[274] = orientation
    path = tmp_path / "phone.jpg"
    plain.save(path, quality=95, exif=exif)
    from PIL import ImageOps

    with Image.open(path) as image:
        upright = np.array(ImageOps.exif_transpose(image))
    assert np.abs(read_picture(path).picture.pixels.astype(int) - upright).max() <= 2
