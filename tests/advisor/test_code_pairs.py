"""Characters sent and received: the transformation that the alphabet alone implies must be named first.

The substitution tables are written out here by hand from the published code table (tests/standards/ita2_published.csv
holds the same codes): late sampling R to Y, E to T, blank to T; early sampling Y to R, R to H, letters to V, T to
blank; single marks and single spaces are complements. Common practice, no source, checked by arithmetic on the codes.
"""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.advisor.code_pairs import ALL_CODES, rank_pairs, read_pairs
from tapewright.advisor.code_suspects import SUSPECTS
from tapewright.advisor.evidence_table import SentReceived
from tapewright.advisor.pair_answers import answers_from_pairs, codes_of
from tapewright.errors import InputError

R, Y, E, T, G, H, V, A = "01010", "10101", "10000", "00001", "01011", "00101", "01111", "11000"
O_ = "00011"
LETTERS, BLANK = "11111", "00000"


@pytest.mark.parametrize(
    ("pairs", "name"),
    [
        ([(R, Y), (Y, G), (E, T), (BLANK, T)], "every element read one late"),
        ([(Y, R), (R, H), (LETTERS, V), (T, BLANK)], "every element read one early"),
        ([(R, Y), (E, V), (BLANK, LETTERS), (T, "11110")], "mark and space exchanged"),
        ([(E, T), (A, O_), (R, R), (Y, Y)], "element order reversed"),
        ([(E, BLANK), (T, BLANK), (R, BLANK), (LETTERS, LETTERS)], "marks that stand alone are lost"),
        ([(E, BLANK), (A, "01000"), (Y, H), (R, R)], "element 1 never comes as mark"),
        ([(E, "10010"), (A, "11010"), (R, R)], "element 4 always comes as mark"),
        ([(E, E), (T, "10001"), (R, G), (BLANK, R)], "marks of the character before are left over"),
        ([(E, BLANK), (T, E), (R, T), (Y, R)], "everything comes one character late"),
    ],
)
def test_what_follows_from_the_alphabet(pairs, name):
    assert rank_pairs(pairs)[0].suspect.name == name


@pytest.mark.parametrize(
    ("pairs", "name"),
    [
        # element 1 and 2 exchanged: 10000 and 01000 change places, 11000 stays (written out by hand)
        ([(E, "01000"), ("01000", E), (A, A), (R, "10010"), (T, T)], "elements 1 and 2 are exchanged"),
        ([(E, "10100"), ("00100", "10100"), (T, T), (A, "11100")],
         "elements 1 and 3 are bridged: a mark in one makes both mark"),
        ([(E, BLANK), ("11000", "11000"), ("01000", BLANK), (T, T), (Y, H)],
         "elements 1 and 2 need each other: a space in one makes both space"),
        ([(E, BLANK), (BLANK, E), (T, "10001"), (R, "11010"), (Y, H)], "element 1 is inverted"),
        # a cipher that is no fault: each code comes as another without a rule
        ([(E, "01101"), (T, "11010"), (R, "00111"), (Y, "01110"), (A, "10111"), (H, "11100")],
         "nothing that is known fits"),
    ],
)  # fmt: skip
def test_slips_of_reassembly_and_what_nothing_fits(pairs, name):
    assert rank_pairs(pairs)[0].suspect.name == name


def test_single_marks_and_single_spaces_are_complements():
    marks = {"E": "10000", "LF": "01000", "SPACE": "00100", "CR": "00010", "T": "00001"}
    spaces = {"V": "01111", "X": "10111", "FIGS": "11011", "Q": "11101", "K": "11110"}
    for (_, mark), (_, space) in zip(marks.items(), spaces.items(), strict=True):
        assert all(a != b for a, b in zip(mark, space, strict=True))


def test_ryry_cannot_show_reversed_order_and_the_next_character_is_one_that_can():
    reading = read_pairs([(R, Y), (Y, R)])
    names = [each.suspect.name for each in reading.ranked]
    assert "mark and space exchanged" in names
    assert "order reversed, mark and space exchanged" in names
    assert reading.decide not in (R, Y)
    assert len({code for _, code in reading.then}) > 1


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(range(len(SUSPECTS))), st.randoms(use_true_random=False))
def test_any_transformation_is_named_once_all_pairs_were_sent(which, rng):
    suspect = SUSPECTS[which]
    sent = [code for code in ALL_CODES for _ in range(3)]
    rng.shuffle(sent)
    before = [BLANK, *sent[:-1]]
    pairs = [(code, suspect.rule(code, old)) for code, old in zip(sent, before, strict=True)]
    best = rank_pairs(pairs)[0].suspect
    assert [best.rule(c, o) for c, o in zip(sent, before, strict=True)] == [received for _, received in pairs]


def test_an_intermittent_element_is_told_from_a_fixed_one():
    now_and_then = [SentReceived("EEEAAE", "E_EAAE", "pairs[1]")]
    answers, _ = answers_from_pairs(now_and_then, "test")
    assert any(a.finding == "element-drops" and a.at == "element 1" for a in answers)
    assert not any(a.finding == "element-lost" and a.state == "present" for a in answers)


def test_nothing_wrong_says_nothing():
    answers, reading = answers_from_pairs([SentReceived("HELLO", "HELLO", "pairs[1]")], "test")
    assert answers == []
    assert reading is not None
    assert reading.ranked == ()


def test_texts_codes_and_names_are_read():
    assert codes_of("10000 00001", "f", "p") == [E, T]
    assert codes_of("E T BLANK LTRS", "f", "p") == [E, T, BLANK, LETTERS]
    assert codes_of("et3", "f", "p") == [E, T, E]
    with pytest.raises(InputError, match="alphabet"):
        codes_of("E\u00e9", "f", "p")


@settings(max_examples=80, deadline=None)
@given(st.text(min_size=1, max_size=12), st.text(min_size=1, max_size=12))
def test_any_text_is_read_or_refused(sent, received):
    with contextlib.suppress(InputError):
        answers_from_pairs([SentReceived(sent, received, "pairs[1]")], "test")
