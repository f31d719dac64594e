"""The last contact's opening, which is seen only where its mark splits from the stop."""

import numpy as np
import pytest

from line.machines import capture, machine, random_codes
from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.practice.contacts import Contact

CODES = random_codes(np.random.default_rng(4), 120)


def measured(codes=CODES, **faults):
    return measure_line(capture(machine(1 / 75, **faults), codes), LineSettings(ITA2, nominal_baud=75))


@pytest.mark.parametrize("early_s", [0.6e-3, 2.1e-3, 4e-3])
def test_the_last_contact_that_opens_early_is_measured_and_named(early_s):
    """Below and above the settling window of a quarter of a unit, 3.3 ms; the stop's bounce is no part of it."""
    result = measured(opening={5: -early_s}, scatter_s=0.04e-3, contact=Contact(bounce_s=0.4e-3))
    fifth, stop = result.contacts[4], result.contacts[5]
    opening = fifth.opening_late_ms
    assert opening.value == pytest.approx(-1e3 * early_s, abs=3 * opening.u + 0.01)
    assert opening.u < 0.05
    assert fifth.opening_seen == (sum(code[4] == "1" for code in CODES),) * 2
    assert stop.splits.median_ms == pytest.approx(1e3 * early_s, abs=0.1)
    assert "contact 5" in [f.part for f in result.findings]
    assert "contact stop" not in [f.part for f in result.findings]


def test_a_few_marks_that_happen_to_split_measure_no_opening():
    result = measured(opening={5: 0.06e-3}, scatter_s=0.06e-3)
    assert 0 < result.contacts[5].splits.n < 40
    assert result.contacts[4].opening_late_ms.value is None


def test_a_stop_that_closes_late_is_not_the_fifth_contact_opening_early():
    result = measured(closing={6: 1.2e-3}, scatter_s=0.02e-3)
    assert abs(result.contacts[4].opening_late_ms.value) < 0.05
    assert result.contacts[5].closing_late_ms.value == pytest.approx(1.2, abs=0.05)
    assert [f.part for f in result.findings] == ["contact stop"]
