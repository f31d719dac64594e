"""Speeds that swing or sag, two senders, other counts of elements: by simulators that know nothing of the measuring."""

import numpy as np
import pytest

from line.other_signals import TEXT, edges_of, start_stop
from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.findings import NEEDED
from tapewright.line.measure import measure_line
from tapewright.line.speed_proof import SENDERS
from tapewright.recordings.capture import RawEdges
from worlds.line.hard import HARD
from worlds.line.machines import MACHINES


def measured(recording, elements=5):
    times = np.asarray(recording.edges_s, float)
    edges = RawEdges(times, np.asarray(recording.mark_after, bool), np.full(times.size, 1e-9),
                     bool(recording.mark_first), 0.0, recording.duration_s)  # fmt: skip
    return measure_line(edges, LineSettings(ITA2, elements=elements))


@pytest.mark.parametrize(
    ("kind", "seed"),
    [*(("sagging", seed) for seed in (0, 1)), *(("swing to eight per cent", seed) for seed in (0, 3, 5)),
     ("sagging, keyed by hand", 1), ("hunting", 0)],
)  # fmt: skip
def test_framing_follows_the_speed(kind, seed):
    recording = MACHINES[kind](seed)
    truth, found = recording.truth, measured(recording)
    assert list(found.codes) == [code for code, whole in zip(truth.codes, truth.whole, strict=True) if whole]
    unit = found.speed.unit_ms
    assert abs(unit.value - truth.drive.unit_over_characters_ms) < 4 * unit.u


@pytest.mark.parametrize(("kind", "seed"), [("hunting", 1), ("hunting", 3), ("two swings", 1), ("two swings", 3)])
def test_a_band_of_hunting_is_no_scatter(kind, seed):
    recording = MACHINES[kind](seed)
    truth, scatter = recording.truth, measured(recording).distortion.scatter_percent
    true = 100 * np.hypot(truth.scatter_ms, truth.start_jitter_ms) / truth.drive.unit_ms
    assert abs(scatter.value - true) < 3 * scatter.u
    assert scatter.u < 0.3 * true


@pytest.mark.parametrize("seed", [1, 3, 4])
def test_two_senders_are_never_one_proven_speed(seed):
    found = measured(HARD["two senders"](seed))
    assert not found.speed.proven
    assert {finding.part for finding in found.findings} <= {NEEDED}


@pytest.mark.parametrize("seed", [0, 2])
def test_two_senders_are_named_and_nothing_is_to_be_set(seed):
    recording = HARD["two senders"](seed)
    found = measured(recording)
    assert not found.speed.proven
    assert SENDERS in (found.speed.why + found.other)
    assert {finding.part for finding in found.findings} <= {NEEDED}
    for truth in recording.truth.stretches:  # both speeds, to a hundredth
        said = [float(word) for word in (found.speed.why + found.other).replace(";", "").split() if word[0].isdigit()]
        assert min(abs(np.log(each / truth.drive.baud)) for each in said) < 0.015


@pytest.mark.parametrize(("elements", "parity", "total"), [(7, "even", 8), (6, "", 6)])
def test_other_counts_of_elements_are_read_when_asked(elements, parity, total):
    codes = [c % 2**elements for c in TEXT[:100]]
    levels = start_stop(codes, elements, parity, stop=1.5)
    asked = measure_line(edges_of(levels, 1 / 110, 1), LineSettings(ITA2, elements=total))
    assert [int(code[::-1], 2) % 2**elements for code in asked.codes] == codes
    assert asked.text == ""
    unasked = measure_line(edges_of(levels, 1 / 110, 1), LineSettings(ITA2))
    assert not unasked.codes
    assert "a stop of 1.5 units" in unasked.other


def test_widths_and_neighbours_have_the_doubt_of_the_covariance():
    found = measured(MACHINES["all contacts off by 0.4 ms"](1))
    place = {name: n for n, name in enumerate(found.covariance.names)}
    matrix = np.array(found.covariance.matrix)
    assert np.linalg.eigvalsh(matrix).min() > -1e-12
    for before, contact in zip(found.contacts[:4], found.contacts[1:5], strict=True):
        a, b = place[f"contact {before.contact} closing"], place[f"contact {contact.contact} closing"]
        u = np.sqrt(matrix[a, a] + matrix[b, b] - 2 * matrix[a, b])
        assert contact.closes_after_neighbour_ms.u == pytest.approx(u)
        late = contact.closing_late_ms.value - before.closing_late_ms.value
        assert contact.closes_after_neighbour_ms.value == pytest.approx(late)
        # what both share cancels: all contacts a little off leave the unit in doubt, not their difference
        assert u < np.hypot(before.closing_late_ms.u, contact.closing_late_ms.u)
