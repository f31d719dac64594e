"""The machine models of the package: complete, consistent, and refused with a clear word when they are not."""

import contextlib
import copy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.advisor.check_model import make_model
from tapewright.advisor.machine_model import STANDING
from tapewright.advisor.models import DATA, load, names, read_toml
from tapewright.errors import InputError


def test_there_are_the_models_that_restorers_need():
    assert {"keyboard-punch", "page-printer", "tape-reader", "whole"} <= set(names())


@pytest.mark.parametrize("name", names())
def test_model_fits_together(name):
    model = load(name)
    shown = {finding for cause in model.causes.values() for finding in cause.shows}
    assert all(model.findings[finding].test in model.tests for finding in shown)
    assert all(cause.shows and cause.do and cause.minutes > 0 for cause in model.causes.values())


def test_the_whole_has_at_least_100_causes_and_200_findings_all_of_them_used():
    model = load("whole")
    shown = {finding for cause in model.causes.values() for finding in cause.shows}
    assert len(model.causes) >= 100
    assert len(shown) >= 200
    assert set(model.findings) == shown


def test_every_cause_of_a_machine_stands_once_and_shared_parts_are_the_same():
    whole = load("whole")
    for name in names():
        for cause in load(name).causes.values():
            assert whole.causes[cause.name] == cause


def test_every_strength_is_common_practice_unless_a_document_is_named():
    assert read_toml(DATA / "classes.toml")["standing"] == STANDING
    sourced = [c for c in load("whole").causes.values() if c.source != STANDING]
    assert all(any(mark in c.source for mark in ("NAVEDTRA", "TM ", "p. ")) for c in sourced)


def test_remedies_near_mains_or_loop_voltage_carry_a_caution():
    for cause in load("whole").causes.values():
        if cause.station in ("motor", "governor", "line") and cause.depth != "none":
            assert cause.cautions, cause.name


def test_tests_under_power_need_the_dead_electrical_check_and_a_caution():
    for test in load("whole").tests.values():
        if test.risk in ("power", "loop") and test.name not in ("insulation-test",):
            assert "dead electrical check" in test.needs, test.name
        if test.risk in ("power", "loop") and not test.question:
            assert test.cautions, test.name


def test_instrument_drawing_and_earlier_hand_are_causes_like_any_other():
    causes = load("page-printer").causes
    assert {"instrument-ac-coupled", "instrument-threshold-off", "instrument-inverted", "instrument-clock-or-drops",
            "drawing-does-not-match", "moved-by-an-earlier-hand"} <= set(causes)  # fmt: skip
    assert "other-source-on-line" in causes


SMALL = {
    "title": "a small machine",
    "station": {"motor": "motor"},
    "caution": {"mains": "Plug out."},
    "gate": {"dead electrical check": "checked"},
    "prior": {"common": 0.1},
    "strength": {"often": 0.7, "always": 0.95},
    "leak": {"uncommon": 0.01},
    "test": {"listen": {"do": "Listen", "minutes": 1}},
    "finding": {"hums": {"says": "It hums", "ask": "Does it hum?", "seen": "ear", "by": "ear", "test": "listen"}},
    "cause": {"stuck": {"station": "motor", "prior": "common", "says": "Stuck", "do": "Free it", "minutes": 5,
                        "always": ["hums"]}},
}  # fmt: skip


def test_a_small_model_is_made():
    model = make_model("small", "small.toml", SMALL)
    assert model.causes["stuck"].shows == {"hums": 0.95}
    assert model.network().strength.tolist() == [[0.95]]


@pytest.mark.parametrize(
    ("path", "value", "word"),
    [
        (("cause", "stuck", "station"), "moon", "motor"),
        (("cause", "stuck", "prior"), "daily", "common"),
        (("cause", "stuck", "always"), ["hmus"], "hmus"),
        (("cause", "stuck", "often"), ["hums"], "once"),
        (("cause", "stuck", "minutes"), -1, "above 0"),
        (("cause", "stuck", "cautions"), ["fire"], "caution"),
        (("cause", "stuck", "colour"), "red", "colour"),
        (("finding", "hums", "test"), "look", "look"),
        (("finding", "hums", "leak"), "never", "uncommon"),
        (("finding", "hums", "measured"), {"in": "moon", "value": "x"}, "line"),
        (("finding", "hums", "measured"), {"in": "line", "value": "x"}, "above"),
        (("finding", "hums", "measured"), {"in": "line", "rule": "x"}, "one mark short"),
        (("test", "listen", "risk"), "mild", "none"),
        (("test", "listen", "needs"), ["luck"], "gate"),
        (("leak", "uncommon"), 1.5, "below 1"),
        (("finding",), [], "finding"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_place(path, value, word):
    tables = copy.deepcopy(SMALL)
    here = tables
    for key in path[:-1]:
        here = here[key]
    here[path[-1]] = value
    with pytest.raises(InputError, match=word) as refused:
        make_model("small", "small.toml", tables)
    assert path[0] in str(refused.value)


values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)
KEYS = st.sampled_from(["cause", "finding", "test", "station", "title", "leak", "prior", "strength", "gate", "caution"])


@settings(max_examples=200, deadline=None)
@given(KEYS, values, st.sampled_from(["stuck", "hums", "listen"]), st.sampled_from(["says", "measured", "always"]))
def test_any_table_is_taken_or_refused_never_a_crash(kind, value, name, key):
    for place in ((kind,), (kind, name), (kind, name, key)):
        tables = copy.deepcopy(SMALL)
        here = tables
        for step in place[:-1]:
            here = here.setdefault(step, {}) if isinstance(here, dict) else {}
        if isinstance(here, dict):
            here[place[-1]] = value
        with contextlib.suppress(InputError):
            make_model("small", "small.toml", tables)


def test_your_own_model_builds_on_a_machine(tmp_path):
    own = tmp_path / "heron.toml"
    own.write_text(
        'title = "Heron"\nextends = "page-printer"\nwithout = ["bell-setting-off"]\n'
        '[finding.paper-lamp-dark]\nsays = "The paper lamp is dark"\nask = "Is the lamp dark?"\n'
        'seen = "eye"\nby = "eye"\n'
        '[cause.lamp-blown]\nstation = "print"\nprior = "common"\nsays = "Lamp blown"\ndo = "Replace it"\nminutes = 5\n'
        'nearly = ["paper-lamp-dark"]\n',
        encoding="utf-8",
    )
    model = load(str(own))
    assert "lamp-blown" in model.causes
    assert "bell-setting-off" not in model.causes
    assert model.causes["platen-glazed"] == load("page-printer").causes["platen-glazed"]


@pytest.mark.parametrize(
    ("text", "word"),
    [("extends = 'moon'", "page-printer"), ("causes = ['moon']", "drive"), ("colour = 1", "colour"),
     ("extends = 'whole'\nwithout = ['x']", "leave out"), ("title = [", "TOML"), ("cause = 3", "cause")],
)  # fmt: skip
def test_your_own_model_is_refused_clearly(tmp_path, text, word):
    own = tmp_path / "own.toml"
    own.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=word):
        load(str(own))


def test_an_unknown_machine_is_refused():
    with pytest.raises(InputError, match="page-printer"):
        load("moon")
