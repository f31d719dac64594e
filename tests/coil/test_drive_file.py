"""Drive files: what can be is read, what cannot is refused by name."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapewright.coil.drive.file import request_from
from tapewright.coil.drive.sections import KEYS, read_sections
from tapewright.errors import InputError

GOOD = {
    "coil.r_ohm": 66.0, "coil.l_h": 1.7, "coil.pull_in_a": 0.024, "coil.drop_out_a": 0.012, "supply.volts": 120.0,
    "series.r_ohm": 1934.0, "line.unit_ms": 22.0,
}  # fmt: skip


def request_of(**changed):
    options = GOOD | {key.replace("__", "."): value for key, value in changed.items()}
    return request_from(read_sections(None, {k: v for k, v in options.items() if v is not None}))


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("coil.r_ohm", -66.0), ("coil.r_ohm", 0.0), ("coil.l_h", 0.0), ("coil.l_h", math.nan), ("coil.l_h", math.inf),
        ("coil.pull_in_a", 0.07), ("coil.pull_in_a", 0.06), ("coil.drop_out_a", 0.03), ("supply.volts", -5.0),
        ("supply.limit_a", 0.02), ("line.unit_ms", 0.0), ("line.unit_ms", None), ("series.r_ohm", -1.0),
        ("switch.breakdown_v", 100.0), ("line.text", ""), ("line.text", "~"), ("line.stop_units", 0.5),
        ("coil.r_ohm", True), ("coil.r_ohm", "66"), ("coil.temperature_c", -240.0), ("coil.coupling", 2.0),
    ],
)  # fmt: skip
def test_nonsense_is_refused_by_name(key, value):
    named = {"supply.limit_a": "coil.pull_in_a"}.get(key, key)
    with pytest.raises(InputError) as refused:
        request_of(**{key.replace(".", "__"): value})
    assert named in str(refused.value)


@pytest.mark.parametrize(
    ("part", "key"),
    [
        ({"kind": "zener"}, "volts"), ({"kind": "rc", "r_ohm": 100.0}, "c_f"), ({"kind": "rc", "c_f": 1e-7}, "r_ohm"),
        ({"kind": "diode+r"}, "r_ohm"), ({"kind": "diode+r", "r_ohm": 0.0}, "r_ohm"), ({"kind": "flyback"}, "kind"),
        ({"kind": "diode", "across": "contact"}, "across"),
        ({"kind": "zener", "volts": 100.0, "across": "contact"}, "volts"),
    ],
)  # fmt: skip
def test_a_suppressor_that_lacks_something_is_refused_by_name(part, key):
    with pytest.raises(InputError, match=f"suppressor.{key}"):
        request_of(**{f"suppressor__{name}": value for name, value in part.items()})


def test_an_rc_that_would_ring_without_end_is_refused_and_the_least_that_is_told_is_taken():
    part = {"suppressor__kind": "rc", "suppressor__r_ohm": 10.0}
    with pytest.raises(InputError, match=r"suppressor.c_f.*at least 2e-09 F"):
        request_of(**part, suppressor__c_f=1e-9)
    # f = 1 / (2 pi sqrt(L C)), a textbook formula: 1.7 H with 2.01 nF rings 2.72 thousand times a second, 60 in 22 ms
    assert request_of(**part, suppressor__c_f=2.1e-9).drive.suppressor.c_f == 2.1e-9


def test_pull_in_above_the_steady_current_names_both_currents():
    with pytest.raises(InputError, match=r"coil.pull_in_a.*0.06 A.*0.07 A"):
        request_of(coil__pull_in_a=0.07)


def test_measured_volts_amperes_and_time_constant_stand_for_r_and_l():
    request = request_of(
        coil__r_ohm=None, coil__l_h=None, coil__volts=6.6, coil__amps=0.1, coil__tau_ms=10.0, coil__tau_series_ohm=104.0
    )
    assert request.drive.coil.r_ohm == pytest.approx(66)
    assert request.drive.coil.l_h == pytest.approx(1.7)


def test_a_doubt_travels_with_its_figure(tmp_path):
    file = tmp_path / "heron.toml"
    lines = ["[coil]", "r_ohm = { value = 66.0, u = 0.5 }", "l_h = 1.7", "pull_in_a = 0.024", "drop_out_a = 0.012"]
    lines += ["[supply]", "volts = 120", "[series]", "r_ohm = 1934", "[line]", "baud = 45.45"]
    file.write_text("\n".join(lines))
    request = request_from(read_sections(file, {}))
    assert request.stated_doubts == {"coil.r_ohm": 0.5}
    assert request.unit_s == pytest.approx(0.0220022, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[coil]\nr_ohms = 3", "coil.r_ohms"), ("[coils]\nr = 3", "coils"), ("coil = 3", "coil"), ("[coil", "TOML"),
        ("[coil]\nr_ohm = { value = 3 }", "coil.r_ohm"), ("[coil]\nr_ohm = { value = 3, u = -1 }", "coil.r_ohm.u"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_names_the_place(tmp_path, text, named):
    file = tmp_path / "x.toml"
    file.write_text(text)
    with pytest.raises(InputError, match=named):
        request_from(read_sections(file, {}))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused(tmp_path_factory, content):
    file = tmp_path_factory.mktemp("fuzz") / "x.toml"
    file.write_bytes(content)
    with pytest.raises(InputError):
        request_from(read_sections(file, {}))


_VALUES = st.one_of(st.floats(), st.integers(), st.booleans(), st.text(max_size=5), st.lists(st.integers(), max_size=2))
_PLACES = st.sampled_from(list(KEYS))


@settings(max_examples=300, deadline=None)
@given(st.dictionaries(_PLACES, _VALUES, max_size=4))
def test_any_figures_make_a_request_or_are_refused(changed):
    try:
        request = request_from(read_sections(None, GOOD | changed))
    except InputError as error:
        refused = str(error)
    else:
        refused = "key '"
        assert request.drive.coil.pull_in_a < request.drive.steady_a
    assert "key '" in refused
