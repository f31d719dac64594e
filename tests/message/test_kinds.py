"""Kinds of error against maps that follow from the five-unit table alone."""

import pytest

from tapewright.alphabets import ITA2
from tapewright.message import ErrorKind, Pair, compare, fits

CODES = {ITA2.letter(code): code for code in ITA2.letters}


def pair(sent, received):
    return Pair(CODES.get(sent), CODES.get(received), 0, 0)


def kinds_of(sent, received, previous=None):
    before = CODES.get(previous)
    return [fit.kind for fit in fits(pair(sent, received), before, before)]


# a receiver that looks one element late or early: substitutions listed from the code table (derived by hand)
@pytest.mark.parametrize(("sent", "received"), [("R", "Y"), ("Y", "G"), ("E", "T"), ("BLANK", "T")])
def test_late_sampling(sent, received):
    assert ErrorKind.SHIFTED_LATE in kinds_of(sent, received)


@pytest.mark.parametrize(("sent", "received"), [("Y", "R"), ("R", "H"), ("LTRS", "V"), ("T", "BLANK")])
def test_early_sampling(sent, received):
    assert ErrorKind.SHIFTED_EARLY in kinds_of(sent, received)


def test_letters_stays_letters_when_sampled_late_and_blank_stays_blank_when_early():
    assert kinds_of("LTRS", "LTRS") == kinds_of("BLANK", "BLANK") == []


@pytest.mark.parametrize(("sent", "received"), [("CR", "LF"), ("A", "O"), ("E", "T"), ("M", "U")])
def test_reversed_order(sent, received):
    # a row read backwards exchanges CR and LF (two general codec tables agree on both codes)
    assert ErrorKind.REVERSED in kinds_of(sent, received)


@pytest.mark.parametrize(("sent", "received"), [("R", "Y"), ("E", "V"), ("T", "K"), ("SP", "FIGS"), ("LTRS", "BLANK")])
def test_inverted(sent, received):
    # complement pairs of the five single-mark codes: V, X, FIGS, Q, K
    assert ErrorKind.INVERTED in kinds_of(sent, received)


def test_one_lost_mark_is_first_when_nothing_else_is_known():
    found = fits(pair("T", "BLANK"), None, None)
    assert (found[0].kind, found[0].elements) == (ErrorKind.DROP_MARK, (5,))
    assert found[1].kind is ErrorKind.SHIFTED_EARLY
    assert str(found[0]) == "drop mark 5"


def test_or_with_previous_and_repeat():
    assert kinds_of("E", "Z", previous="T")[:2] == [ErrorKind.DROP_SPACE, ErrorKind.OR_PREVIOUS]
    assert ErrorKind.REPEAT in kinds_of("A", "B", previous="B")


def test_extra_that_repeats():
    assert [f.kind for f in fits(Pair(None, "11000", None, 1), "11000", "11000")] == [ErrorKind.REPEAT, ErrorKind.EXTRA]
    assert [f.kind for f in fits(Pair(None, "11000", None, 1), "00011", "00011")] == [ErrorKind.EXTRA]
    assert [f.kind for f in fits(Pair("11000", None, 1, None), None, None)] == [ErrorKind.LOSS]


def test_what_fits_nothing_is_mixed_with_its_elements():
    found = fits(pair("A", "H"), None, None)  # 11000 -> 00101
    assert [(f.kind, f.elements) for f in found] == [(ErrorKind.MIXED, (1, 2, 3, 5))]


def test_the_whole_text_decides_between_kinds():
    # mark 5 is lost always: T alone could be early sampling, the rest of the text cannot
    sent = [CODES[c] for c in "THEZOMBYTLHPOW"]
    received = [code[:4] + "0" for code in sent]
    found = compare(sent, received)
    assert list(found.tally.kinds) == [ErrorKind.DROP_MARK]
    assert all(fit.elements == (5,) for column in found.columns for fit in column.fits[:1])
    late = compare(sent, [code[1:] + "1" for code in sent])
    assert list(late.tally.kinds) == [ErrorKind.SHIFTED_LATE]


def test_a_slow_receiver_is_late_at_the_last_elements_first():
    # looks late at element 5 always and at element 4 every other time; written out from the table by hand:
    # D 10010 -> 10001 Z or 10011 B; L 01001 -> 01011 G or unchanged; E 10000 -> 10001 Z either way
    assert ErrorKind.SHIFTED_LATE in kinds_of("D", "B")
    assert ErrorKind.SHIFTED_LATE in kinds_of("L", "G")
    assert ErrorKind.SHIFTED_LATE in kinds_of("E", "Z")
    # D read as Z would need element 4 to take element 5 (0) and element 5 the stop: late from element 4 on
    assert ErrorKind.SHIFTED_LATE in kinds_of("D", "Z")
    sent = [CODES[c] for c in "DLEJARSUNITE"] * 3
    received = [(c[:4] if n % 2 else c[:3] + c[4]) + "1" for n, c in enumerate(sent)]
    found = compare(sent, received)
    assert next(iter(found.tally.kinds)) is ErrorKind.SHIFTED_LATE
