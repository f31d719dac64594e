"""A list of changes that ends with its last change keeps its last character, and says what of it was not seen."""

import numpy as np
import pytest

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.recordings.edges.change_list import edges_of_changes

UNIT_S = 0.02
#: ITU-T S.1 (10/1993): H, E, R, LTRS, element 1 first
SENT = ("00101", "10000", "01010", "00101", "10000", "01010")
LTRS = "11111"


def changes(codes: tuple[str, ...], *, held_s: float = 0.0) -> tuple[np.ndarray, np.ndarray]:
    """Return times and levels of a list of changes, mark 1; `held_s` adds a row that states a later end."""
    rows = [(0.0, 1)]
    for n, code in enumerate(codes):
        for k, level in enumerate((0, *map(int, code), 1)):
            if level != rows[-1][1]:
                rows.append((1.0 + (7.5 * n + k) * UNIT_S, level))
    if held_s:
        rows.append((rows[-1][0] + held_s, 1))
    times, levels = np.array(rows, float).T
    return times, levels


def read(times: np.ndarray, levels: np.ndarray):
    edges = edges_of_changes(times, levels, quantum_s=1e-6)
    return measure_line(edges, LineSettings(ITA2, nominal_baud=50.0))


@pytest.mark.parametrize(
    ("last", "said"),
    [
        (LTRS, "elements 1 to 5 and its stop are taken"),
        ("10001", "element 5 and its stop are taken"),
        ("10011", "elements 4 and 5 and its stop are taken"),
        ("01010", "its stop is taken"),
    ],
)
def test_the_last_character_is_kept_and_what_was_not_seen_is_said(last, said):
    result = read(*changes((*SENT, last)))
    assert result.codes == (*SENT, last)
    assert result.characters[-1].stop_units is None
    assert any(said in note for note in result.characters[-1].notes)
    assert any(said in note for note in result.notes)


def test_a_list_that_ends_on_space_leaves_the_unfinished_character_out():
    times, levels = changes((*SENT, "01010"))
    result = read(times[:-1], levels[:-1])
    assert result.codes == SENT
    assert any("left out" in note for note in result.notes)


def test_an_end_that_is_stated_is_taken_at_its_word():
    whole = read(*changes((*SENT, LTRS), held_s=8 * UNIT_S))
    assert whole.codes == (*SENT, LTRS)
    assert not any("taken to have stayed" in note for note in whole.notes)
    cut = read(*changes((*SENT, LTRS), held_s=2 * UNIT_S))
    assert cut.codes == SENT
