"""How people at a bench say it: written by the makers, so that words lead where they should; no stranger's words."""

import pytest

from tapewright.advisor.measure import gather
from tapewright.advisor.models import load
from tapewright.advisor.search import MOST_CHOICES, either, find, pair_in, surely
from tapewright.advisor.vocabulary import place_in, spelt_like, tokens
from tapewright.errors import InputError

MODEL = load("whole")


def taken(words):
    matches = find(words, MODEL)
    match = surely(matches)
    return [match.finding] if match else [each.finding for each in either(matches)]


@pytest.mark.parametrize(("complaint", "meant"), [
    ("one punch jams when I tighten the upper block", "pins-bind-when-tight"),
    ("takes a lot of force to turn over", "shaft-tight-by-hand"),
    ("the tape does not advance", "no-feed"),
    ("punches do not come all the way down", "stroke-short"),
    ("the left hole is cut better than the right", "raggedness-gradient"),
    ("speed is too slow", "unit-too-long"),
    ("the motor runs too fast", "unit-too-short"),
    ("moter hums but wont start", "hums-does-not-start"),
    ("third element never comes", "element-lost"),
    ("tape tears at the feed holes", "feed-holes-torn"),
    ("prints the same letter twice", "character-doubled"),
    ("carriage comes back too slowly", "carriage-returns-late"),
    ("contact chatters when it closes", "bounce-after-make"),
    ("armature stays stuck to the magnet", "armature-lingers"),
    ("works when warm, bad when cold", "better-warm"),
    ("the punch head wobbles", "head-rocks"),
    ("grease has gone hard", "grease-hard"),
])  # fmt: skip
def test_a_complaint_leads_to_what_is_meant(complaint, meant):
    assert find(complaint, MODEL)[0].finding == meant
    assert meant in taken(complaint)


@pytest.mark.parametrize("words", ["the moon is full", "xyzzy", "my aunt sings", "the painter whistles"])
def test_what_means_nothing_here_is_refused_with_few_choices(words):
    with pytest.raises(InputError) as refused:
        gather([("bench", {"yes": [words]})], MODEL)
    assert sum(f"{name} (" in str(refused.value) for name in MODEL.findings) <= MOST_CHOICES


@pytest.mark.parametrize(("words", "opposite"), [
    ("the armature lands early", "landing-late"), ("bell rings late and loud", "better-warm"),
    ("feed holes downstream oval", "feed-holes-oval-upstream"), ("better cold", "better-warm"),
])  # fmt: skip
def test_the_opposite_is_never_taken_unasked(words, opposite):
    assert opposite not in taken(words)


@pytest.mark.parametrize(("words", "pair"), [
    ("R comes out as Y", ("R", "Y")), ("Y comes as R", ("Y", "R")), ("Y comes where R was sent", ("R", "Y")),
    ("I send E and get T", ("E", "T")), ("it prints O instead of M", ("M", "O")),
    ("RYRY comes as YGYG", ("RYRY", "YGYG")),
    ("tape comes as flaps", None), ("the R is faint", None), ("E comes as E", None),
])  # fmt: skip
def test_one_character_for_another_is_read_the_way_it_is_said(words, pair):
    assert pair_in(words) == pair


def test_how_it_was_taken_is_told():
    evidence, reading = gather([("bench", {"yes": ["R comes out as Y"]})], MODEL)
    assert reading is not None
    assert any("R was sent and Y came" in note and "--sent Y --received R" in note for note in evidence.notes)


def test_numbers_of_parts_are_read_in_words():
    assert place_in("bit three is missing") == "element 3"
    assert place_in("the 2nd contact bounces") == "contact 2"
    assert place_in("one track is weak") == ""


def test_stems_and_slips_of_the_pen():
    assert tokens("advances") == tokens("advancing") == tokens("advance")
    assert tokens("jamming") == tokens("jams")
    assert "not" in tokens("it won't move")
    assert tokens("a note") != tokens("not")
    assert spelt_like("govenor", ["governor", "motor"]) == "governor"
    assert spelt_like("moon", ["motor", "governor"]) == ""
