"""Which side of the parting a difference points to. The table is common practice, no source."""

import json
from pathlib import Path

import jsonschema
import pytest

from tapewright.alphabets import ITA2, encode
from tapewright.witnesses.report import PROVES, compare_document, compare_text
from tapewright.witnesses.two_witnesses import Side, compare_witnesses, side_of

SENT = encode("THE QUICK BROWN FOX", ITA2)
SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/compare.json").read_text("utf-8"))


def changed(place, code):
    return [*SENT[:place], code, *SENT[place + 1 :]]


@pytest.mark.parametrize(
    ("line", "tape", "side"),
    [
        ("10000", "10000", None), ("10000", "00000", Side.PUNCH), ("00000", "10000", Side.CONTACTS),
        ("00000", "00000", Side.BEFORE), ("00000", "11000", Side.BOTH), (None, None, Side.BEFORE),
        (None, "10000", Side.CONTACTS), ("10000", None, Side.PUNCH),
    ],
)  # fmt: skip
def test_every_kind_of_difference_points_somewhere(line, tape, side):
    assert side_of("10000", line, tape) is side


def test_each_side_is_counted_with_its_place():
    found = compare_witnesses(changed(3, "11111"), changed(7, "00001"), SENT)
    assert [(p.number, p.side) for p in found.places] == [(3, Side.CONTACTS), (7, Side.PUNCH)]


def test_a_lost_code_does_not_upset_the_rest():
    found = compare_witnesses(SENT, SENT[:5] + SENT[6:], SENT)
    assert [(p.number, p.tape, p.side) for p in found.places] == [(5, None, Side.PUNCH)]


def test_without_the_sent_text_no_side_is_cleared():
    found = compare_witnesses(SENT, changed(2, "11111"))
    assert found.sides == {Side.EITHER: 1}


def test_every_side_has_its_words_and_the_document_its_schema():
    assert set(PROVES) == set(Side)
    found = compare_witnesses(changed(3, "11111"), [*SENT, "10000"], SENT)
    jsonschema.validate(compare_document(found, "a.csv", "a.png", ["pin 1"]), SCHEMA)
    words = compare_text(found, ITA2, ["pin 1"])
    assert "1 more on the tape that nobody sent" in words
    assert "look at contacts" in words


def test_an_extra_code_is_no_agreement_and_an_inverted_tape_no_pin():
    extra = compare_text(compare_witnesses(SENT, [*SENT, "10000"], SENT), ITA2, [])
    assert "agree in all" not in extra
    assert "not only they came" in extra
    inverted = ["".join("10"[int(bit)] for bit in code) for code in SENT]
    assert "whether one is inverted" in compare_text(compare_witnesses(SENT, inverted, SENT), ITA2, [])
    assert "whether one is inverted" not in compare_text(compare_witnesses(SENT, changed(3, "11111"), SENT), ITA2, [])


LONG = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG AND RUNS HOME BEFORE THE DAY IS OVER", ITA2)


@pytest.mark.parametrize("sent", [None, LONG])
@pytest.mark.parametrize(
    ("line", "tape", "beyond"),
    [
        (slice(40, None), slice(None), {("line", "beginning", 40)}),
        (slice(None), slice(30, None), {("tape", "beginning", 30)}),
        (slice(None, 50), slice(None), {("line", "end", len(LONG) - 50)}),
        (slice(None), slice(20, 60), {("tape", "beginning", 20), ("tape", "end", len(LONG) - 60)}),
        (slice(40, None), slice(None, 52), {("line", "beginning", 40), ("tape", "end", len(LONG) - 52)}),
    ],
)
def test_what_begins_late_or_ends_early_is_set_apart(line, tape, beyond, sent):
    on_tape = list(LONG)
    on_tape[45] = "00000"  # within every stretch above
    found = compare_witnesses(LONG[line], on_tape[tape], sent)
    assert {(b.witness, b.end, b.characters) for b in found.beyond} == beyond
    assert [(p.line, p.tape) for p in found.places] == [(LONG[45], "00000")]
    assert found.sides == {Side.PUNCH if sent else Side.EITHER: 1}
    words = compare_text(found, ITA2, [])
    assert "More than a third" not in words
    assert all(f"The {witness} " in words for witness, _, _ in beyond)
    jsonschema.validate(compare_document(found, "a.csv", "a.png", []), SCHEMA)


def test_a_wrong_code_that_only_one_has_clears_no_side():
    found = compare_witnesses(LONG[40:], [*LONG[:9], "00000", *LONG[10:]], LONG)
    assert found.sides == {Side.ALONE: 1}
    assert found.compared == len(LONG) - 40


def test_a_character_cut_in_two_where_the_recording_began_is_no_fault():
    found = compare_witnesses(["11111", *LONG[40:]], LONG, LONG)
    assert found.places == ()
    assert [(b.witness, b.characters) for b in found.beyond] == [("line", 40)]


def test_a_code_or_two_lost_at_an_end_is_a_loss():
    found = compare_witnesses(LONG[2:], LONG, LONG)
    assert found.sides == {Side.CONTACTS: 2}
    assert found.beyond == ()


def test_texts_with_nothing_in_common_stay_as_they_are():
    other = encode("73 DE SKERRY POINT = WX FAIR = TIDE 0412 = NO VESSELS IN SIGHT TODAY = GLASS 1013", ITA2)
    found = compare_witnesses(LONG, other)
    assert len(found.places) > found.compared / 3
