"""The proof: what it says of a record, and what it must not leave out."""

import random
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proof.practice_book import KEY, Record, line_of, sheet_of, small
from tapewright.book.kinds import KINDS, SORTS
from tapewright.errors import InputError
from tapewright.furniture.phases import PHASES
from tapewright.number import State
from tapewright.proof.prove_machine import prove_entries


def proved(record):
    return prove_entries("Petrel", KEY, record.all())


def verdict(value, state, u=0.1, check="speed error"):
    return {"check": check, "state": state, "value": value, "u": u, "low": -0.75, "high": 0.75, "unit": "percent",
            "source": "somewhere", "standing": "owner's choice", "why": "it lies there"}


def line(value, state, **more):
    return {"format": "tapewright/line/1", "verdicts": [verdict(value, state)], **more}


def only(items):
    assert len(items) == 1, items
    return items[0]


def test_first_page_answers_the_four_questions():
    page = proved(small()).first_page
    # the practice machine's contact closes 1.52 ms late; what is measured comes near it
    assert any("contact 3" in said.lower() and re.search(r"1\.5[0-4]", said) for said in page.was_wrong)
    assert any("ratchet" in said for said in page.was_wrong)
    assert any("Gap 3" in said for said in page.does_now)
    assert any("0 wrong in 243" in said and "fewer than 1 wrong in 81" in said for said in page.how_sure)
    assert any(said.startswith("Not tested") for said in page.not_shown)


def test_a_magnet_that_was_stuck_and_moves_now_stands_on_the_first_page():
    """It has no limit and so no verdict, and is what the work was about."""
    record, coil = Record(), {"format": "tapewright/coil/1", "closures": [{}] * 7}
    record.measured("coil", "as found", coil | {"moved": False, "landing_ms": None})
    assert proved(record).first_page.was_wrong == ("Magnet: the armature did not move in 7 closings",)
    landing = {"value": 8.24, "u": 0.045, "unit": "ms", "n": 7}
    record.measured("coil", "as left", coil | {"moved": True, "landing_ms": landing})
    page = proved(record).first_page
    assert page.was_wrong == ("Magnet: the armature did not move in 7 closings",)
    assert page.does_now == ("Magnet: the armature moves; it lands after 8.24 ± 0.09 ms.",)


def test_as_found_stands_beside_as_left_with_the_change():
    compared = {c.what: c for c in proved(small()).compared}
    contact = compared["contact 3 closes (late +)"]
    assert contact.found.reading.startswith("1.5")
    assert contact.change.startswith("−1.5")
    assert compared["stop length"].change == "no change shown"
    assert compared["Gap 3"].found is None
    assert compared["Gap 0"].left.state is State.WITHIN


@pytest.mark.parametrize(("instruments", "u"), [
    # JCGM 100:2008, 5.2.2, by hand: the clock's part is 100 ppm / sqrt 3 of 22 ms, 0.00127 ms on each side
    (("analyser", "analyser"), (2 * (0.002**2 - 0.00127**2)) ** 0.5),
    (("analyser", "scope"), 2**0.5 * 0.002),
    (("", ""), 2**0.5 * 0.002),
])  # fmt: skip
def test_what_one_instrument_brings_to_both_sides_is_not_doubt_of_the_change(instruments, u):
    record = Record()
    for phase, unit, name in zip(("as found", "as left"), (22.0, 22.01), instruments, strict=True):
        speed = {"unit_ms": {"value": unit, "u": 0.002, "unit": "ms"}, "proven": True, "nominal_baud": 45.45}
        body = {"format": "tapewright/line/1", "source": {"clock_ppm": 100.0}, "speed": speed}
        record.measured("line", phase, body, **({"instrument": name} if name else {}))
    change = only([c for c in proved(record).compared if c.what == "unit"]).change
    assert change.startswith("+0.01")
    assert float(change.split("± ")[1].split()[0]) == pytest.approx(2 * u, abs=0.0005)  # one digit is printed


def test_requirements_carry_reading_doubt_limit_source_and_standing():
    answers = {a.id: a for a in proved(small()).answers if a.id}
    assert answers["gap-2"].state is State.NOT_SHOWN
    assert answers["gap-3"].state is State.OUTSIDE
    assert answers["gap-0"].u > 0
    assert answers["gap-0"].standing == "owner's choice"
    assert answers["gap-5"].state is State.NOT_SHOWN
    assert "not measured as left" in answers["gap-5"].why


def test_a_reading_from_before_is_not_one_as_left():
    record = Record()
    record.measured("gauge", "as found", sheet_of({"gap-0": 0.25, "gap-1": 0.25}, 3))
    record.measured("gauge", "as left", sheet_of({"gap-1": 0.25}, 3))
    answers = {a.id: a for a in proved(record).answers}
    assert answers["gap-1"].state is State.WITHIN
    assert answers["gap-0"].state is State.NOT_SHOWN
    assert "before that it read 0.250" in answers["gap-0"].why


def test_fallbacks_are_said():
    record = Record()
    record.measured("line", "between", line(0.1, "within"))
    said = {(p.sort, p.phase): p.said for p in proved(record).phases}
    assert "first on record" in said["line", "as found"]
    assert "last on record" in said["line", "as left"]
    assert ("tape", "as left") not in said  # no tape at all stands among what was not tested
    record.measured("tape", "as found", {"format": "tapewright/tape/1"})
    said = {(p.sort, p.phase): p.said for p in proved(record).phases}
    assert "no tape evidence shows the machine as left" in said["tape", "as left"]


def test_nothing_is_compared_with_itself():
    record = Record()
    record.measured("line", "between", line(0.1, "within"))
    assert only(proved(record).compared).found is None


def test_the_worst_capture_as_left_is_not_hidden_by_a_later_one():
    record = Record()
    record.measured("line", "as left", line(2.0, "outside"))
    record.measured("line", "as left", line(0.1, "within"))
    answer = only(proved(record).answers)
    assert answer.state is State.OUTSIDE
    assert "1 within" in answer.why


def test_evidence_from_before_a_change_shows_nothing_of_now():
    record = Record()
    record.measured("line", "as left", line(0.1, "within", errors={"sent": 500, "wrong": 0, "kinds": {}}))
    before = proved(record)
    assert only(before.answers).state is State.WITHIN
    assert only(before.errors).n == 500
    record.write("adjustment", {"what": "clutch spring changed"})
    after = proved(record)
    assert only(after.answers).state is State.NOT_SHOWN
    assert "was changed after it" in only(after.answers).why
    assert after.errors == ()
    assert any(p.kind == "recheck" and "clutch spring" in p.why for p in after.open_points)


def test_a_change_that_names_its_rechecks_leaves_the_other_gauges_alone():
    record = Record()
    record.measured("gauge", "as left", sheet_of({"gap-0": 0.25, "gap-1": 0.25}, 2))
    record.write("adjustment", {"what": "stop plate", "recheck": ["gap-1"]})
    answers = {a.id: a.state for a in proved(record).answers}
    assert answers == {"gap-0": State.WITHIN, "gap-1": State.NOT_SHOWN}


def test_a_corrected_line_is_left_out():
    record = Record()
    slip = record.measured("line", "as left", line(2.0, "outside"))
    body = {"sort": "line", "phase": "as left", "says": "", "result": line(0.1, "within")}
    record.write("evidence", body, replaces=slip.key)
    assert only(proved(record).answers).state is State.WITHIN


def test_newer_verdicts_on_the_same_evidence_stand_before_its_own():
    record = Record()
    first = record.measured("line", "as left", line(0.5, "within"))
    record.write("verdicts", {"says": "", "verdicts": [verdict(0.5, "outside")]}, rests_on=[first.key])
    answer = only(proved(record).answers)
    assert answer.state is State.OUTSIDE
    assert answer.line == 1
    assert "judged again in line 2" in answer.why


def test_a_result_judged_again_stands_in_place_of_the_old_one_but_is_no_younger():
    record = Record()
    record.measured("gauge", "as left", sheet_of({"gap-0": 0.25}, 1))
    record.write("adjustment", {"what": "stop plate"})
    narrower = sheet_of({"gap-0": 0.25}, 1)
    narrower["requirements"][0]["verdict"]["high"] = 0.24
    narrower["requirements"][0]["verdict"]["state"] = "outside"
    record.write("verdicts", {"says": "", "verdicts": [], "result": narrower}, rests_on=[record.entries[0].key])
    taken_back = only(proved(record).answers)
    assert taken_back.state is State.NOT_SHOWN  # the machine was changed after it was measured
    assert "outside" in taken_back.why
    unchanged = tuple(e for e in record.entries if e.new.kind != "adjustment")
    answer = only(prove_entries("P", KEY, unchanged).answers)
    assert answer.state is State.OUTSIDE
    assert answer.high == 0.24


def test_open_points_hold_rechecks_findings_and_doubts_of_the_instrument():
    record = Record()
    owed = record.write("recheck", {"what": "motor speed", "state": "owed", "because": "governor cleaned"})
    record.write("recheck", {"what": "clutch gap", "state": "owed"})
    record.write("recheck", {"what": "motor speed", "state": "done"}, rests_on=[owed.key])
    record.measured("line", "as left", line(
        0.1, "within", instrument=[{"suspicion": "AC coupling", "evidence": "levels sag", "do": "use DC"}],
        findings=[{"part": "contact 2", "what": "bounces", "do": "clean it"}], speed={"proven": False, "why": "few"},
    ))  # fmt: skip
    record.measured("line", "as left", {"format": "tapewright/line/9"})
    points = {(p.kind, p.what) for p in proved(record).open_points}
    assert ("recheck", "clutch gap") in points
    assert ("recheck", "motor speed") not in points
    assert ("finding", "contact 2: bounces") in points
    assert ("instrument", "AC coupling") in points
    assert any(kind == "book" and "line 5" in what for kind, what in points)
    assert any("not proven" in what for _, what in points)


def test_what_was_not_tested_is_worked_out_and_never_empty():
    record = Record()
    record.write("identity", {"name": "Petrel"})
    bare = proved(record)
    assert len(bare.not_tested) >= 20  # all of the plan, every sort of evidence, the span
    assert bare.first_page.counts.within == 0
    whole = {gap.what for gap in proved(small()).not_tested}
    assert not any(what.startswith("R and Y") for what in whole)
    assert any(what.startswith("All ordered pairs") for what in whole)
    assert any("gap-4" in what for what in whole)
    assert any(what.startswith("Days to come") for what in whole)


def test_everything_used_stands_with_its_fingerprint():
    record = small()
    trail = proved(record).trail
    assert {line.key for line in trail.lines} == {e.key for e in record.entries}
    shas = {file.sha256 for line in trail.lines for file in line.files}
    assert shas == {sha for e in record.entries for sha in e.new.files}
    assert any("recompute --machine Petrel" in command for command in trail.commands)


def test_the_same_lines_give_the_same_proof_in_any_order():
    entries = list(small().entries)
    first = prove_entries("Petrel", KEY, tuple(entries))
    random.Random(7).shuffle(entries)
    assert prove_entries("Petrel", KEY, tuple(entries)) == first
    assert first.as_of == max(e.at for e in entries)


def test_a_machine_without_a_line_is_refused():
    with pytest.raises(InputError, match="at least one line"):
        prove_entries("Petrel", KEY, ())


def test_practice_documents_are_what_the_commands_write():
    assert line_of("heron", "pangram")["format"] == SORTS["line"]


odd = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=12,
)
KNOWN = ("verdicts", "requirements", "strips", "errors", "speed", "contacts", "characters", "codes", "findings",
         "rows", "tracks", "feed", "scale", "distortion", "receiver", "instrument", "recheck_open", "source")


def documents():
    known = st.dictionaries(st.sampled_from(KNOWN), odd, max_size=5)
    return known.flatmap(lambda d: st.sampled_from([*SORTS.values()]).map(lambda f: {**d, "format": f}))


@settings(max_examples=30)
@given(st.lists(
    st.tuples(st.sampled_from([*KINDS]), st.dictionaries(st.text(max_size=8), odd, max_size=4),
              st.sampled_from([*SORTS]), st.sampled_from(PHASES), documents()), min_size=1, max_size=4,
))  # fmt: skip
def test_a_proof_comes_out_of_any_bodies(bodies):
    record = Record()
    for kind, body, sort, phase, document in bodies:
        more = {"sort": sort, "phase": phase, "result": document} if kind == "evidence" else {}
        record.write(kind, {**body, **more})
    assert proved(record).not_tested


def test_swapping_two_entries_changes_the_record_not_the_reading():
    record = Record()
    record.measured("line", "as found", line(2.0, "outside"))
    record.measured("line", "as left", line(0.1, "within"))
    one, two = record.entries
    turned = (replace(two, number=1), replace(one, number=2))
    assert only(prove_entries("P", KEY, turned).answers).state is State.WITHIN
