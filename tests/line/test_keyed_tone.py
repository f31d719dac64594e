"""A tone that was recorded before its keyer is said to be one; a line, hum and noise are not."""

import numpy as np
import pytest

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.findings import tone_hz
from tapewright.line.measure import measure_line
from tapewright.recordings.capture import RawEdges


def edges_of(times):
    times = np.asarray(times, float)
    levels = np.arange(times.size) % 2 == 0
    u_s = np.full(times.size, 1e-6)
    return RawEdges(times, levels, u_s, starts_high=False, begin_s=0.0, end_s=float(times[-1]) + 0.3)


def keyed(hz, duty=0.5, unit_s=0.022):
    """Edges of a tone on in every other unit; written down from its definition."""
    starts = [n / hz for n in range(int(4 * hz)) if int(n / hz / unit_s) % 2 == 0]
    return np.sort(np.concatenate([starts, np.array(starts) + duty / hz]))


@pytest.mark.parametrize(("hz", "duty"), [(425.0, 0.5), (1700.0, 0.3), (2000.0, 0.5), (2975.0, 0.7)])
def test_a_keyed_tone_is_known_by_its_period(hz, duty):
    found = edges_of(keyed(hz, duty))
    assert tone_hz(found) == pytest.approx(hz, rel=0.01)
    result = measure_line(found, LineSettings(alphabet=ITA2, nominal_baud=1 / 0.022))
    assert f"a tone of some {hz:.0f} Hz" in result.notes[0]


def test_what_is_no_tone():
    rng = np.random.default_rng(3)
    assert tone_hz(edges_of(np.cumsum(rng.integers(1, 6, 400) * 0.022))) is None
    assert tone_hz(edges_of(np.cumsum(rng.exponential(1e-3, 4000)))) is None
    assert tone_hz(edges_of(np.arange(1000) / 100.0)) is None
    assert tone_hz(edges_of(np.arange(20) / 4000.0)) is None
