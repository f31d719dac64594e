"""Danger comes before everything, and nothing that it forbids is advised next.

The complaints are those that a restorer makes before anything is measured; that each of them stops the work is common
practice, no source.
"""

import json

import pytest

from tapewright.advisor.machine_model import RISKS
from tapewright.advisor.measure import gather
from tapewright.advisor.models import load
from tapewright.advisor.reason import diagnose
from tapewright.terminal.run import run

GATES = ["dead electrical check", "turned free by hand", "speed proven"]


def advised(machine="whole", **said):
    model = load(machine)
    evidence, _ = gather([("bench", {"done": GATES, **said})], model)
    return diagnose(model, evidence)


@pytest.mark.parametrize(("complaint", "danger"), [
    ("tingle-or-trips", "shock"), ("I got a shock from the frame", "shock"), ("it trips the breaker", "shock"),
    ("smoke", "fire"), ("smell of burning", "fire"), ("the moter smells burnt", "fire"),
    ("motor hums and doesn't start", "stalled-motor"), ("hums-does-not-start", "stalled-motor"),
    ("the selector coil is hot", "hot"), ("motor gets too hot", "hot"), ("sparks at the governor", "sparks"),
    ("sparks at the plug", "sparks"), ("a bulged capacitor", "capacitor"), ("old parts smell strange", "poison"),
    ("a smell of garlic", "poison"), ("the belt came off", "thrown"), ("there is a bare wire", "shock"),
])  # fmt: skip
def test_danger_stands_first_and_what_it_forbids_is_not_advised(complaint, danger):
    found = advised(yes=[complaint])
    stands = {each.danger: each for each in found.danger}
    assert danger in stands
    assert any("unplug" in step.lower() or "plug" in step.lower() for step in stands[danger].do)
    for test in found.next_tests:
        assert RISKS.index(test.risk) < min(RISKS.index(each.forbids) for each in found.danger), test.test
    if stands[danger].forbids == "power":
        assert "dead electrical check" in GATES
        assert all("dead electrical check" not in load("whole").tests[t.test].needs for t in found.next_tests)


@pytest.mark.parametrize("said", [
    {"no": ["smoke"]}, {"no": ["tingle-or-trips"]}, {"cannot_say": ["motor-hot"]}, {"yes": ["bell rings early"]},
    {"yes": ["bell rings early"], "note": "there was no smoke and it never sparks"},
])  # fmt: skip
def test_what_is_denied_is_no_danger(said):
    assert advised(**said).danger == ()


def test_an_answer_in_doubt_is_danger_enough():
    assert advised(finding=[{"is": "tingle-or-trips", "sure": 0.6}]).danger[0].danger == "shock"


def test_words_that_nobody_understands_do_not_hide_the_danger(capsys):
    assert run(["diagnose", "--yes", "smoke", "--yes", "qwertz uiop", "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert list(found)[:2] == ["format", "danger"]
    assert found["danger"][0]["danger"] == "fire"
    assert any("qwertz" in note for note in found["notes"])


def test_the_report_begins_with_the_danger(capsys):
    assert run(["diagnose", "--machine", "page-printer", "--yes", "tingle-or-trips"]) == 1
    out = capsys.readouterr().out
    assert out.startswith("DANGER: ")
    assert out.index("Switch off") < out.index("Page printer")
    assert "your local code" in out


def test_every_danger_says_what_to_do_and_whose_work_it_is():
    for danger in load("whole").dangers.values():
        assert len(danger.do) >= 2
        assert danger.words or danger.findings
