"""Distortion, its signs and its arithmetic, against published definitions and worked examples.

FED-STD-1037C: start-stop distortion, bias, end distortion (definitions seen). Army subcourses SS0330, SS0031,
SS03295 (worked examples seen). ITU-T R.140: gross and synchronous (from memory). Derived means arithmetic only.
"""

import numpy as np
import pytest

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.recordings.capture import RawEdges
from tapewright.reference.speeds import Speed

ALL_CODES = [format(code, "05b") for code in range(32)]


def signal(codes, unit_s, *, to_mark_s=0.0, to_space_s=0.0, stop_units=1.5):
    """Edges of a start-stop signal, written here from the definition alone: displaced marks' beginnings and ends."""
    times, levels, start = [], [], 0.5
    for code in codes:
        elements = [0, *map(int, code), 1]
        times.append(start)
        levels.append(False)
        for k in range(1, 7):
            if elements[k] != elements[k - 1]:
                times.append(start + k * unit_s + (to_mark_s if elements[k] else to_space_s))
                levels.append(bool(elements[k]))
        start += (6 + stop_units) * unit_s
    n = len(times)
    return RawEdges(np.array(times), np.array(levels), np.full(n, 1e-9), True, 0.0, start + 0.5)


def read(edges, baud):
    return measure_line(edges, LineSettings(ITA2, nominal_baud=baud))


def test_three_quarters_of_a_per_cent_slow_is_4_5_per_cent_gross_and_nothing_synchronous():
    """Derived: at k = 6 a speed error of p gives 6p."""
    distortion = read(signal(ALL_CODES, 0.02 * 1.0075), 50).distortion
    assert distortion.gross_percent.value == pytest.approx(4.5, abs=0.05)
    assert distortion.synchronous_percent.value == pytest.approx(0.0, abs=0.05)


def test_marking_bias_makes_only_beginnings_of_marks_early():
    """FED-STD-1037C: mark longer = marking = positive; the start is itself a mark-to-space instant."""
    distortion = read(signal(ALL_CODES, 0.02, to_mark_s=-0.002), 50).distortion
    assert distortion.marking_bias_percent.value == pytest.approx(10.0, abs=0.05)
    assert distortion.end_percent.value == pytest.approx(0.0, abs=0.05)
    assert distortion.early_percent.value == pytest.approx(-10.0, abs=0.05)
    assert distortion.late_percent.value == pytest.approx(0.0, abs=0.05)


def test_marking_end_makes_only_ends_of_marks_late():
    """FED-STD-1037C: end distortion shifts the end of all marking pulses except the stop."""
    distortion = read(signal(ALL_CODES, 0.02, to_space_s=0.001), 50).distortion
    assert distortion.end_percent.value == pytest.approx(5.0, abs=0.05)
    assert distortion.marking_bias_percent.value == pytest.approx(0.0, abs=0.05)
    assert distortion.late_percent.value == pytest.approx(5.0, abs=0.05)


def test_nine_per_cent_spacing_bias():
    """SS0031: 9 per cent spacing bias (text seen); 2 ms of 22 ms (inferred)."""
    distortion = read(signal(ALL_CODES, 0.022, to_mark_s=0.002), 1000 / 22).distortion
    assert distortion.marking_bias_percent.value == pytest.approx(-9.0, abs=0.2)


def test_six_ms_of_thirteen_is_46_per_cent():
    """SS03295: transition delays 6 ms apart on a 13 ms pulse (options seen, 46 fits)."""
    distortion = read(signal(ALL_CODES, 0.013, to_mark_s=0.006), 1000 / 13).distortion
    assert distortion.marking_bias_percent.value == pytest.approx(-46, abs=0.5)


def test_a_late_start_moves_everything_early_alike():
    """Derived: the start is the reference, so its own lateness shows on all other instants with the other sign."""
    result = read(signal(ALL_CODES, 0.02, to_mark_s=-0.001, to_space_s=-0.001), 50)
    assert result.distortion.start_reference_percent.value == pytest.approx(-5.0, abs=0.05)
    assert result.findings[0].part.startswith("start")


def test_a_unit_of_22_2_ms_is_0_9_per_cent_slow_and_more_supply_shortens_it():
    """Common practice, no source."""
    result = read(signal(ALL_CODES, 0.0222), 1000 / 22)
    assert result.speed.error_percent.value == pytest.approx(-0.9, abs=0.01)
    assert "raise its supply" in result.findings[0].do


@pytest.mark.parametrize(
    ("baud", "units", "character_ms", "per_minute", "words"),
    [
        (1000 / 22, 6 + 31 / 22, 163, 368, 61.3),  # SS0330, worked example: 6 x 22 + 31
        (1000 / 22, 7.42, 163.24, 367.6, 61.26),
        (1000 / 22, 7.5, 165.0, 363.6, 60.61),
        (50, 7.5, 150.0, 400.0, 66.67),
        (50, 7.0, 140.0, 428.6, 71.43),
        (56.88, 7.42, 130.45, 460.0, 76.66),
        (74.2, 7.42, 100.0, 600.0, 100.0),  # SS0330 options: 100 words a minute
        (75, 7.5, 100.0, 600.0, 100.0),  # Navy ET vol 3: 75 baud = 100 words a minute
        (100, 7.5, 75.0, 800.0, 133.3),  # Navy ET vol 3: 133 words a minute
    ],
)
def test_speed_table(baud, units, character_ms, per_minute, words):
    """Table of derived values; the rows marked are seen in the named document."""
    speed = Speed(baud, units)
    assert speed.character_ms == pytest.approx(character_ms, abs=0.01)
    assert speed.operations_per_minute == pytest.approx(per_minute, abs=0.5)
    assert speed.words_per_minute == pytest.approx(words, abs=0.05)


@pytest.mark.parametrize(("baud", "stop"), [(1000 / 22, 31 / 22), (50, 1.5), (75, 1.5), (74.2, 1.42)])
def test_speeds_measured_from_a_signal_obey_the_same_table(baud, stop):
    speed = read(signal(ALL_CODES * 2, 1 / baud, stop_units=stop), baud).speed
    table = Speed(baud, 6 + stop)
    assert speed.character_ms.value == pytest.approx(table.character_ms, rel=1e-5)
    assert speed.words_per_minute.value == pytest.approx(table.words_per_minute, rel=1e-5)
    assert speed.stop_units.value == pytest.approx(stop, abs=1e-3)
