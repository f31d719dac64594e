"""One contact off at one edge, at both, or not at all: what the advisor makes of it, from figures and from a signal.

The shapes are those of the trade (both edges inward: gap; both the same way: follower, lever or bracket; common
practice, no source). Truth is what the figures were made of, or what the simulated sender was given.
"""

import json

import pytest

from tapewright.advisor.evidence import Evidence
from tapewright.advisor.measured import answers_from
from tapewright.advisor.models import load
from tapewright.advisor.reason import diagnose
from tapewright.terminal.run import run

MODEL = load("whole")
UNIT_MS = 22.0
TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890 RYRYRY"
FOUND = ("present", "rather present")


def document(number, closing, opening, u=0.05):
    """Four good contacts and one that is off; contact 5 opens into the stop, unseen."""

    def contact(k):
        closes, opens = (closing, opening) if k == number else (0.0, 0.0)
        return {"contact": str(k), "closing_late_ms": {"value": closes, "u": u},
                "opening_late_ms": {"value": None if k == 5 else opens, "u": u}}  # fmt: skip

    speed = {"unit_ms": {"value": UNIT_MS, "u": 0.01}, "proven": True}
    return {"format": "tapewright/line/1", "speed": speed, "contacts": [contact(k) for k in range(1, 6)]}


def states(made):
    return {a.finding: a.state for a in answers_from(made, MODEL)}


def station(made):
    judged = diagnose(MODEL, Evidence(tuple(answers_from(made, MODEL)))).stations
    return next(s for s in judged if s.station == "transmitting contact")


@pytest.mark.parametrize("number", range(1, 6))
@pytest.mark.parametrize(("closing", "opening"), [(1.5, 0.0), (-1.5, 0.0), (0.0, 1.5), (0.0, -1.5)])
def test_one_edge_alone_is_found_and_its_station_never_proved(number, closing, opening):
    if number == 5 and not closing:
        return
    made = document(number, closing, opening)
    said = states(made)
    assert said["one-edge-displaced"] in FOUND
    assert said["one-element-displaced"] not in FOUND
    assert said["one-mark-short"] != "present"
    assert said["one-mark-short" if closing < 0 or opening > 0 else "one-mark-long"] == "absent"
    assert station(made).state in ("suspect", "outside")


@pytest.mark.parametrize(
    ("closing", "opening", "finding"),
    [(1.5, -1.5, "one-mark-short"), (-1.2, 1.4, "one-mark-long"), (1.3, 1.5, "one-element-displaced"),
     (-1.5, -1.2, "one-element-displaced")],
)  # fmt: skip
def test_both_edges_tell_width_from_place(closing, opening, finding):
    said = states(document(2, closing, opening))
    shapes = {"one-mark-short", "one-mark-long", "one-element-displaced", "one-edge-displaced"}
    assert said[finding] in FOUND
    assert not any(said[other] in FOUND for other in shapes - {finding})


@pytest.mark.parametrize(("closing", "opening"), [(0.0, 0.0), (0.15, -0.1), (-0.1, -0.15)])
def test_what_nobody_would_set_is_not_found(closing, opening):
    assert "present" not in states(document(3, closing, opening)).values()
    assert station(document(3, closing, opening)).state == "not yet shown", "four figures alone prove little"


def test_a_doubt_as_large_as_the_lateness_neither_finds_nor_proves():
    said = states(document(3, 1.0, 0.0, u=0.8))
    assert said["one-edge-displaced"] not in ("present", "absent")
    assert station(document(3, 1.0, 0.0, u=0.8)).state != "proved"


@pytest.mark.parametrize(
    ("fault", "number"),
    [("1=1.2", 1), ("2=-1.4", 2), ("3=1.5", 3), ("4=2.1", 4), ("5=1.6", 5), ("3=-1.3", 3), ("3=0.1", 0)],
)  # fmt: skip
def test_a_sender_with_one_contact_off_is_named_from_its_signal_and_a_good_one_proved(tmp_path, capsys, fault, number):
    signal = tmp_path / "line.csv"
    assert run(["line", "compose", TEXT, "--late", fault, "--scatter", "1", "-o", str(signal)]) == 0
    capsys.readouterr()
    run(["line", "read", str(signal), "--nominal", "45.45", "--json"])
    made = json.loads(capsys.readouterr().out)
    if not number:
        assert station(made).state == "proved"
        return
    found = [a for a in answers_from(made, MODEL) if a.finding == "one-edge-displaced"]
    assert [a.state in FOUND for a in found] == [True]
    assert found[0].at == f"contact {number}"
    assert station(made).state in ("suspect", "outside")
