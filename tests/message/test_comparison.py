"""Whole comparisons: one cause for all, counts, dependence on the previous character, JSON."""

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import fisher_exact

from tapewright.alphabets import ITA2, encode
from tapewright.furniture.document import to_builtins
from tapewright.message import ErrorKind, compare
from tapewright.message.comparison import keyed_message
from tapewright.message.document import errors

SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/errors.json").read_text("utf-8"))
CODES = [format(n, "05b") for n in range(32)]
FOX = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890", ITA2)


def flipped(code):
    return "".join("10"[int(c)] for c in code)


# the wanted text of each cause is written here a second time, in other words than in the program
@pytest.mark.parametrize(
    ("cause", "received"),
    [
        ("mark and space exchanged", [flipped(c) for c in FOX]),
        ("element order reversed", ["".join(reversed(c)) for c in FOX]),
        ("element order reversed, mark and space exchanged", [flipped(c)[::-1] for c in FOX]),
        ("sampled one element late", [(c + "1")[1:6] for c in FOX]),
        ("sampled one element early", [("0" + c)[0:5] for c in FOX]),
        ("marks left over from the character before",
         [format(int(a, 2) | int(b, 2), "05b") for a, b in zip(["00000", *FOX], FOX, strict=False)]),
        ("the text is 2 characters late", ["11111", "00100", *FOX[:-2]]),
        ("4 characters missing at the beginning", [*FOX[4:], "00010", "01000", "01000", "11111"]),
    ],
)  # fmt: skip
def test_one_cause_for_the_whole_text(cause, received):
    first = compare(FOX, received).explanations[0]
    assert (first.cause, first.wrong) == (cause, 0)


def test_what_ry_cannot_tell_is_said():
    # R and Y are complements, so an inverted RYRY is also an RYRY one character late
    sent = ["01010", "10101"] * 20
    causes = [e.cause for e in compare(sent, [flipped(c) for c in sent]).explanations if e.wrong == 0]
    assert "mark and space exchanged" in causes
    assert any(c.startswith(("the text is 1 character late", "1 character missing")) for c in causes)


@given(st.lists(st.sampled_from(CODES), max_size=30))
def test_what_came_right_has_nothing_to_say(codes):
    found = compare(codes, codes)
    assert found.tally.wrong == 0
    assert [e.cause for e in found.explanations] == ["as sent"]


@given(st.lists(st.sampled_from(CODES), max_size=25), st.lists(st.sampled_from(CODES), max_size=25))
def test_counts_add_up_whatever_came(sent, received):
    found = compare(sent, received)
    assert sum(found.tally.kinds.values()) == found.tally.wrong == sum(bool(c.fits) for c in found.columns)
    assert found.rate.n == len(found.columns)
    assert 0 <= found.rate.upper_95 <= 1
    jsonschema.validate(json.loads(json.dumps(to_builtins(errors(found)), allow_nan=False)), SCHEMA)


def sticky_fourth(codes):
    """Element 4 goes to mark only when it stood at mark before: a bar that does not travel one way."""
    out, before = [], "0"
    for code in codes:
        out.append(code[:3] + ("0" if before == "0" else code[3]) + code[4:])
        before = code[3]
    return out


def test_dependence_on_the_previous_character_is_found():
    generator = np.random.default_rng(11)
    sent = [CODES[n] for n in generator.integers(0, 32, 300)]
    found = compare(sent, sticky_fourth(sent)).tally.by_element[3]
    assert found.mark_dependence is not None
    assert found.mark_dependence.after_mark[0] == 0
    assert found.mark_dependence.after_space[0] == found.mark_dependence.after_space[1]
    assert found.mark_dependence.p_value < 1e-12
    assert found.dropped_spaces == 0


def test_no_dependence_is_seen_where_there_is_none():
    generator = np.random.default_rng(12)
    sent = [CODES[n] for n in generator.integers(0, 32, 400)]
    received = [c[:3] + ("0" if generator.random() < 0.2 else c[3]) + c[4:] for c in sent]
    found = compare(sent, received).tally.by_element[3].mark_dependence
    assert found is not None
    (a, n_a), (c, n_c) = found.after_mark, found.after_space
    assert found.p_value == pytest.approx(fisher_exact([[a, n_a - a], [c, n_c - c]]).pvalue)
    assert found.p_value > 0.01


def test_json_with_dependence_holds_to_its_schema():
    part = to_builtins(errors(compare(FOX * 3, sticky_fourth(FOX * 3))))
    assert part["by_element"][3]["drop_mark_by_previous"]["p_value"] < 1e-3
    jsonschema.validate(part, SCHEMA)


def test_json_holds_the_contract_s_keys():
    part = to_builtins(errors(compare(FOX, FOX[:10] + FOX[11:])))
    assert {"sent", "wrong", "rate_upper_95", "kinds", "by_element", "alignment"} <= set(part)
    assert part["sent"] == len(FOX)
    assert part["wrong"] == part["kinds"]["loss"] == 1
    assert len(part["by_element"]) == 5
    assert set(part["kinds"]) == {kind.value for kind in ErrorKind}
    lost = [column for column in part["alignment"] if column["received"] is None]
    assert lost == [{"sent": FOX[10], "received": None, "kind": "loss", "elements": [], "also": []}]


def slow_pull_in(code):
    """A mark right after a space is lost when a space follows it too."""
    around = "0" + code + "1"
    return "".join("0" if around[n : n + 3] == "010" else c for n, c in enumerate(code))


def test_slow_pull_in_takes_lone_marks_first():
    generator = np.random.default_rng(13)
    sent = [CODES[n] for n in generator.integers(0, 32, 300)]
    found = compare(sent, [slow_pull_in(c) for c in sent]).tally
    # the five codes with one mark lose it (E LF SP CR; T stands before the stop mark and keeps it)
    assert [found.by_sent[c][0] == found.by_sent[c][1] for c in ("10000", "01000", "00100", "00010")] == [True] * 4
    assert found.lone_marks is not None
    assert found.lone_marks.lone[0] == found.lone_marks.lone[1]
    assert found.lone_marks.joined[0] == 0
    assert found.lone_marks.p_value < 1e-20
    assert found.lone_spaces is None


def test_a_dead_contact_does_not_care_for_neighbours():
    generator = np.random.default_rng(14)
    sent = [CODES[n] for n in generator.integers(0, 32, 300)]
    received = [c[:2] + ("0" if generator.random() < 0.5 else c[2]) + c[3:] for c in sent]
    found = compare(sent, received).tally.lone_marks
    assert found is not None
    table = [[found.lone[0], found.lone[1] - found.lone[0]], [found.joined[0], found.joined[1] - found.joined[0]]]
    assert found.p_value == pytest.approx(fisher_exact(table).pvalue)
    assert found.p_value > 0.01


def test_what_is_keyed_around_a_text_is_no_error_but_a_first_character_that_came_as_blank_is():
    letters, blank, cr, line_feed = "11111", "00000", "00010", "01000"
    the = ["00001", "00101", "10000"]
    assert keyed_message([letters, cr, line_feed, *the, line_feed, letters], the) == the
    assert keyed_message([blank, *the[1:]], the) == [blank, *the[1:]]
    assert keyed_message([letters, *the], [letters, *the]) == [letters, *the]
