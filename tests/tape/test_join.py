"""Several pictures of one tape: the text of all, whatever their order; gaps and what differs are named."""

import json

import numpy as np
import pytest
from PIL import Image

from tape_pictures.drawn_tape import Look, draw
from tapewright.alphabets import ITA2, encode
from tapewright.tape.join import find_overlap, put_in_order
from tapewright.terminal.run import run

TEXT = (
    "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG AND SAILS FROM THE HARBOUR AT NOON WITH COAL FOR NORTHERN PORTS "
    "PLEASE CONFIRM RECEIPT OF YOUR ORDER DATED TWELFTH MAY WEATHER GOOD VISIBILITY MODERATE"
)
CODES = encode(TEXT, ITA2)
ROWS, SHARED = 60, 15


def cut(codes, rows=ROWS, shared=SHARED):
    return [codes[n : n + rows] for n in range(0, len(codes) - shared, rows - shared)]


@pytest.fixture(scope="module")
def pictures(tmp_path_factory):
    """Pictures of the pieces, each its own way round, numbered in a wrong order."""
    folder = tmp_path_factory.mktemp("pieces")
    pieces = cut(CODES)
    order = np.random.default_rng(3).permutation(len(pieces))
    for name, n in enumerate(order):
        look = Look(dpi=150, angle=float(7 * n), turned=bool(n % 2), seed=int(n))
        Image.fromarray(draw(pieces[n], look).image).save(folder / f"{name}.png", dpi=(150, 150))
    return folder


def read(capsys, *words):
    capsys.readouterr()
    code = run(["tape", "read", *map(str, words), "--json"])
    out = capsys.readouterr().out
    return code, json.loads(out) if out else None


def test_shuffled_pictures_of_a_folder_give_the_whole_text(pictures, capsys):
    code, joined = read(capsys, pictures)
    assert code in (0, 1, 3)
    assert joined["text"] == TEXT
    assert joined["gaps"] == []
    assert [piece["shared_rows"] for piece in joined["pieces"]] == [None] + [SHARED] * (len(cut(CODES)) - 1)


def test_what_cannot_be_read_is_named_and_the_rest_is_read(pictures, tmp_path, capsys):
    (tmp_path / "broken.png").write_bytes(b"no picture")
    code, joined = read(capsys, *sorted(pictures.iterdir()), tmp_path / "broken.png")
    assert code in (0, 1, 3)
    assert joined["text"] == TEXT
    assert ["broken.png" in each["file"] for each in joined["unread"]] == [True]
    code, joined = read(capsys, tmp_path / "broken.png", tmp_path / "broken.png")
    assert (code, joined) == (4, None)


def test_a_missing_piece_is_a_gap_that_is_named(pictures, capsys):
    files = sorted(pictures.iterdir())
    order = np.random.default_rng(3).permutation(len(files))
    code, joined = read(capsys, *(file for file, n in zip(files, order, strict=True) if n != 1))
    assert code in (0, 1, 3)
    assert len(joined["gaps"]) == 1
    assert "something may be missing" in joined["notes"][0]


def test_pages_of_a_tiff_are_joined(pictures, tmp_path, capsys):
    pages = [Image.open(file) for file in sorted(pictures.iterdir())]
    pages[0].save(tmp_path / "scan.tif", save_all=True, append_images=pages[1:], dpi=(150, 150))
    _, joined = read(capsys, tmp_path / "scan.tif")
    assert joined["text"] == TEXT
    assert joined["pictures"][1]["source"]["file"].endswith("page 2")


def test_a_text_that_repeats_itself_is_not_joined():
    codes = encode("RYRYRYRYRYRYRYRYRYRYRYRYRYRYRY", ITA2)
    assert find_overlap(codes[:20], codes[10:]) is None
    assert find_overlap(["00000"] * 30, ["00000"] * 30) is None


def test_pieces_whose_end_is_not_known_are_turned_by_their_neighbours():
    pieces = cut(CODES)
    given = [piece[::-1] if n % 2 else piece for n, piece in enumerate(pieces)]
    placed = put_in_order(given, [n % 2 == 0 for n in range(len(pieces))])
    assert [each.piece for each in placed] == list(range(len(pieces)))
    assert [each.reversed for each in placed] == [bool(n % 2) for n in range(len(pieces))]


def test_a_row_read_wrong_in_the_overlap_does_not_part_the_pieces():
    first, second = CODES[:60], list(CODES[40:])
    second[7] = "11111" if second[7] != "11111" else "00000"
    overlap = find_overlap(first, second)
    assert (overlap.rows, overlap.wrong) == (20, 1)
