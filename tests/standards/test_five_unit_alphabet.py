"""ITA2 and its US variant against what was published.

Sources: the 32 rows in ita2_published.csv (letters agree across two general codec libraries and one published
table; numbering from memory); `codext`, a general codec library from the package index, as an independent witness;
facts that follow from the table alone are marked derived.
"""

import csv
import warnings
from pathlib import Path

import pytest

from tapewright.alphabets import ITA2, US_COMMERCIAL, Function
from tapewright.alphabets.alphabet import complement, reversed_order
from tapewright.alphabets.ita2 import COMBINATIONS

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the library's own, about modules of Python it imports
    import codext

ROWS = list(csv.DictReader((Path(__file__).parent / "ita2_published.csv").open(encoding="utf-8")))


def name(sign: object) -> str:
    return sign.value if isinstance(sign, Function) else str(sign)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["letter"])
def test_every_row_of_the_published_table(row):
    code = row["elements_1to5"]
    assert COMBINATIONS[int(row["number"]) - 1][0] == code
    assert name(ITA2.letters[code]) == name(US_COMMERCIAL.letters[code]) == row["letter"]
    assert name(ITA2.figures[code]) == row["figure_ITA2"]
    assert name(US_COMMERCIAL.figures[code]) == row["figure_US"]


def test_hole_histogram_is_1_5_10_10_5_1():
    """Derived: 32 distinct codes."""
    holes = [code.count("1") for code in ITA2.letters]
    assert [holes.count(n) for n in range(6)] == [1, 5, 10, 10, 5, 1]


def test_figures_differ_in_exactly_d_f_g_h_j_s_v_z():
    """Seen in two independent tables."""
    differ = {ITA2.letter(code) for code in ITA2.letters if ITA2.figures[code] != US_COMMERCIAL.figures[code]}
    assert differ == set("DFGHJSVZ")


def test_named_codes():
    """E, T, R, Y seen in three tables; all-mark letters and all-space blank by definition."""
    wanted = {"10000": "E", "00001": "T", "01010": "R", "10101": "Y", "11111": "LTRS", "00000": "BLANK"}
    assert {code: ITA2.letter(code) for code in wanted} == wanted


def test_r_and_y_are_complementary_and_palindromes():
    assert complement("01010") == "10101"
    assert reversed_order("01010") == "01010"


def test_e_lf_space_cr_t_are_the_five_single_marks_and_v_x_figs_q_k_the_single_spaces():
    """Derived; the two sets are exact complements."""
    singles = [format(1 << n, "05b") for n in (4, 3, 2, 1, 0)]
    assert [ITA2.letter(code) for code in singles] == ["E", "LF", "SP", "CR", "T"]
    assert [ITA2.letter(complement(code)) for code in singles] == ["V", "X", "FIGS", "Q", "K"]


def test_reversed_rows():
    """CR and LF change places (seen); SP FIGS LTRS R Y C BLANK Z stay (derived)."""
    swapped = {ITA2.letter(c): ITA2.letter(reversed_order(c)) for c in ITA2.letters}
    assert (swapped["CR"], swapped["LF"]) == ("LF", "CR")
    assert {k for k, v in swapped.items() if k == v} == {"SP", "FIGS", "LTRS", "R", "Y", "C", "BLANK", "Z"}


@pytest.mark.parametrize(("codec", "alphabet"), [("baudot-ita2", ITA2), ("baudot-ita2-us", US_COMMERCIAL)])
@pytest.mark.parametrize("text", ["ABCDEFGHIJKLMNOPQRSTUVWXYZ", "1234567890-?:().,/"])
def test_letters_and_figures_agree_with_a_general_codec_library(codec, alphabet, text):
    """codext writes element 5 first; BEL, WRU and national positions are left to the tables above."""
    for character in text:
        theirs = codext.encode(character, codec)[-5:]
        assert alphabet.code_of(character, figures=not character.isalpha()) == theirs[::-1]
