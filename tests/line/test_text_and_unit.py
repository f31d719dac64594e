"""Unit and text found without being told, over speeds, distortions and ways of keying."""

import numpy as np
import pytest

from line.machines import PANGRAM, capture, machine, random_codes
from tapewright.alphabets import ITA2, encode
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.practice.contacts import Contact
from tapewright.practice.keying import Keying
from tapewright.recordings.capture import RawEdges

SPEEDS = [1000 / 22, 50.0, 56.88, 74.2, 75.0, 100.0, 110.0]
CODES = encode(PANGRAM, ITA2)
BOUNCE = Contact(bounce_s=2e-3)
KINDS = {
    "clean": {},
    "marking bias": {"bias": 0.2},
    "spacing bias and bounce": {"bias": -0.2, "contact": BOUNCE},
    "marking end": {"end": 0.1},
    "spacing end": {"end": -0.1},
    "shortest stop": {"stop_units": 1.0},
    "long stop": {"stop_units": 2.0},
    "fast": {"speed": 1.05},
    "slow": {"speed": 0.95},
    "everything": {"bias": 0.15, "end": -0.08, "speed": 0.96, "scatter": 0.03, "contact": Contact(bounce_s=1.5e-3)},
}


def sender(baud, kind):
    unit = 1 / baud / kind.get("speed", 1.0)
    faults = {k: v for k, v in kind.items() if k in ("stop_units", "contact")}
    for name in ("bias", "end", "scatter"):
        faults[f"{name}_s"] = kind.get(name, 0.0) * unit
    return machine(unit, **faults), unit


@pytest.mark.parametrize("baud", SPEEDS, ids=lambda b: f"{b:.5g}")
@pytest.mark.parametrize("kind", KINDS, ids=str)
def test_no_wrong_code(baud, kind):
    made, unit = sender(baud, KINDS[kind])
    result = measure_line(capture(made, CODES, step_s=5e-5), LineSettings(ITA2))
    assert list(result.codes) == CODES
    assert result.speed.unit_ms.value == pytest.approx(1e3 * unit, rel=0.004)
    assert result.text == PANGRAM


@pytest.mark.parametrize("mark_is_high", [True, False])
def test_hand_keyed_and_polarity_from_idle(mark_is_high):
    edges = capture(machine(0.02), CODES[:12], keying=Keying(gap_s=0.4), mark_is_high=mark_is_high)
    result = measure_line(edges, LineSettings(ITA2))
    assert list(result.codes) == CODES[:12]
    assert result.idle == ("high" if mark_is_high else "low")
    assert result.speed.character_ms.value is None


@pytest.mark.parametrize("unit", [0.022, 0.02, 0.01])
@pytest.mark.parametrize("code", ["10000", "01010", "11000", "00001", "11111", "00000", "01111"])
def test_a_run_of_one_character_reads_and_says_what_it_cannot_separate(code, unit):
    result = measure_line(capture(machine(unit), [code] * 30), LineSettings(ITA2))
    assert list(result.codes) == [code] * 30
    if code in ("11111", "00000", "00001", "01111"):
        assert not result.speed.proven
        assert any("cannot be told apart" in note for note in result.notes)
        assert all(v.state.value == "not shown" for v in result.verdicts)


def test_a_wrong_idle_is_named_as_inverted_polarity():
    result = measure_line(capture(machine(0.022), CODES), LineSettings(ITA2, idle="low"))
    assert [s.suspicion for s in result.suspicions] == ["inverted polarity"]


def test_reversed_elements_are_told_by_running_text_and_never_by_ry():
    """R and Y read the same both ways (derived from the table); text does not."""
    for text, told in ((PANGRAM, True), ("RY" * 30, False)):
        codes = [code[::-1] for code in encode(text, ITA2)]
        result = measure_line(capture(machine(0.022), codes), LineSettings(ITA2))
        assert ("reversed element order" in [s.suspicion for s in result.suspicions]) is told
    plain = measure_line(capture(machine(0.022), CODES), LineSettings(ITA2))
    assert not plain.suspicions


def test_noise_before_the_first_start_and_a_break_do_not_put_it_out_of_step():
    keying = Keying(lead_s=0.6, glitches=8, breaks=((1.30, 1.62),))
    result = measure_line(capture(machine(0.022), CODES, keying=keying, seed=3), LineSettings(ITA2))
    assert "".join(result.codes).endswith("".join(CODES[12:]))
    assert any("break" in note for note in result.notes)


@pytest.mark.parametrize("seed", range(12))
def test_a_first_character_cut_off_costs_at_most_two(seed):
    generator = np.random.default_rng(seed)
    codes = random_codes(generator, 40)
    begin = 0.3 + generator.uniform(0.01, 0.16)
    result = measure_line(capture(machine(0.022), codes, keying=Keying(begin_s=begin)), LineSettings(ITA2))
    assert "".join(result.codes).endswith("".join(codes[2:]))


@pytest.mark.parametrize("n", [0, 1, 2, 3, 40, 900])
def test_noise_is_no_signal(n):
    generator = np.random.default_rng(n)
    times = np.sort(generator.uniform(0, 3, n))
    edges = RawEdges(times, np.arange(n) % 2 == 0, np.full(n, 1e-6), False, 0.0, 3.0)
    result = measure_line(edges, LineSettings(ITA2))
    assert not result.speed.proven
    assert all(v.state.value == "not shown" for v in result.verdicts)
