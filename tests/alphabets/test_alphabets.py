"""The alphabets on their own terms: complete, reversible, honest about what is not fixed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapewright.alphabets import ALPHABETS, ITA2, US_COMMERCIAL, Kind, Shift, decode, encode
from tapewright.alphabets.alphabet import Alphabet, complement, reversed_order
from tapewright.alphabets.shift import TRANSITIONS

EVERY_CODE = [format(number, "05b") for number in range(32)]
codes = st.lists(st.sampled_from(EVERY_CODE))


def test_every_transition_is_stated():
    assert set(TRANSITIONS) == {(s, k, u) for s in Shift for k in Kind for u in (False, True)}


def test_unshift_on_space_changes_one_thing_only():
    changed = {(s, k) for s, k, u in TRANSITIONS if TRANSITIONS[s, k, True] is not TRANSITIONS[s, k, False]}
    assert changed == {(Shift.FIGURES, Kind.SPACES)}


@pytest.mark.parametrize("alphabet", ALPHABETS.values(), ids=ALPHABETS)
@pytest.mark.parametrize("unshift", [False, True])
def test_text_survives_the_round_trip(alphabet, unshift):
    printable = [c for case in (alphabet.letters, alphabet.figures) for c in case.values() if isinstance(c, str)]
    text = "".join(printable + printable[::-1]) + " A 1 A\r\n"
    sent = encode(text, alphabet, unshift_on_space=unshift)
    assert decode(sent, alphabet, unshift_on_space=unshift) == text


@given(codes)
def test_any_codes_decode_and_shown_signs_encode_back(sent):
    text = decode(sent, US_COMMERCIAL)
    assert decode(encode(text, US_COMMERCIAL), US_COMMERCIAL) == text


def test_blank_and_national_positions_are_shown_not_guessed():
    assert decode(["00000"], ITA2) == "\N{OPEN BOX}"
    assert decode(["11011", "10110", "01011", "00101"], ITA2) == "\N{WHITE SQUARE}" * 3


def test_a_character_the_alphabet_lacks_is_named():
    with pytest.raises(ValueError, match=r"character 3 \('~'\) cannot be sent in ITA2"):
        encode("AB~", ITA2)


def test_an_incomplete_alphabet_is_refused():
    with pytest.raises(ValueError, match="exactly the 32 codes"):
        Alphabet("short", {"00000": "A"}, dict(ITA2.figures), source="")


@given(st.sampled_from(EVERY_CODE))
def test_reversal_and_complement_undo_themselves(code):
    assert reversed_order(reversed_order(code)) == code == complement(complement(code))


def test_a_function_of_one_case_shifts_when_sent():
    assert encode("\N{SYMBOL FOR BELL}", ITA2) == ["11011", "11010"]
