"""Words lead to the finding that is meant, or are sent back; how people put things is common practice, no source."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.advisor.evidence_table import read_evidence
from tapewright.advisor.models import load
from tapewright.advisor.search import find, place_in, surely
from tapewright.errors import InputError

MODEL = load("whole")

SAID = {
    "element 4 mark-to-space fails only when element 5 is mark": "fails-with-neighbour",
    "prints nearly only T": "nearly-only-t",
    "first character after idle garbled": "first-after-idle",
    "tape edge holes wander": "edge-distance-wanders",
    "RYRY fine, E and T wrong": "isolated-marks-lost",
    "gets better when warm": "better-warm",
    "motor hums but does not start": "hums-does-not-start",
    "bell rings early": "bell-early-or-late",
    "errors at fixed columns": "spacing-wrong-fixed-columns",
    "trips the RCD": "tingle-or-trips",
    "pins hit between holes": "reader-pins-between-rows",
    "fresh screwdriver marks on adjusting screws": "screw-marks-or-paint-broken",
    "sound card levels droop": "levels-sag",
    "two letters mixed when typing fast": "blend-of-two-keys",
}


@pytest.mark.parametrize(("words", "finding"), SAID.items())
def test_what_restorers_say(words, finding):
    match = surely(find(words, MODEL))
    assert match is not None
    assert match.finding == finding


def test_every_id_and_every_sentence_leads_to_its_finding():
    for name, finding in MODEL.findings.items():
        assert [m.finding for m in find(name, MODEL)] == [name]
        assert find(finding.says, MODEL)[0].finding == name


@pytest.mark.parametrize(
    ("words", "station", "finding"),
    [("sluggish", "magnet", "armature-sluggish"), ("sluggish", "selector", "selector-lever-sluggish"),
     ("gap wide", "magnet", "armature-gap-wide"), ("dead", "motor", "motor-dead"),
     ("worn", "tape", "guide-loose-or-worn"), ("stuck", "interposer", "interposer-sluggish"),
     ("dull", "pin and die", "pin-edge-dull")],
)  # fmt: skip
def test_a_station_narrows_what_is_meant(words, station, finding):
    assert find(words, MODEL, station=station)[0].finding == finding


def test_places_are_taken_from_the_words():
    assert place_in("bit 4 drops, code bar 2 stiff") == "element 4, code bar 2"
    assert place_in("track 3 never punched") == "track 3"
    assert place_in("nothing here") == ""


def test_words_that_mean_all_is_well_deny_the_fault():
    for words, finding in (("line is right", "wrong-on-line"), ("contacts clean", "contacts-dark-or-oily")):
        match = surely(find(words, MODEL))
        assert match is not None
        assert (match.finding, match.denied) == (finding, True)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=60))
def test_any_words_find_something_or_nothing(words):
    for match in find(words, MODEL):
        assert match.finding in MODEL.findings


tables = st.dictionaries(
    st.sampled_from(["yes", "no", "finding", "pairs", "done", "machine", "tried", "x"]),
    st.none() | st.integers() | st.text(max_size=9) | st.lists(st.text(max_size=9) | st.dictionaries(
        st.sampled_from(["is", "answer", "element", "sure", "sent", "received", "station"]),
        st.text(max_size=9) | st.floats() | st.none(), max_size=3), max_size=3),
    max_size=3,
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(tables)
def test_any_evidence_table_is_taken_or_refused_with_its_place(table):
    try:
        read_evidence(table, "e.toml", MODEL)
    except InputError as refused:
        place = str(refused)
    else:
        place = "e.toml"
    assert place.startswith("e.toml")
