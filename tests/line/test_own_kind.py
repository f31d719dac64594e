"""Is it ours? Other numbers of elements and other kinds of signal are refused by name, never read as garbage."""

import numpy as np
import pytest

from line.other_signals import TEXT, edges_of, manchester, start_stop, synchronous
from tapewright import read_line
from tapewright.alphabets import ITA2
from tapewright.errors import InputError
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line

NAMES = {6: "six", 7: "seven", 8: "eight"}


def measured(levels, unit_s=1 / 110, seed=1):
    return measure_line(edges_of(levels, unit_s, seed), LineSettings(ITA2))


@pytest.mark.parametrize("elements", NAMES)
@pytest.mark.parametrize("parity", ["", "even", "odd"])
@pytest.mark.parametrize("stop", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("by_hand", [False, True])
def test_another_number_of_elements_is_refused_by_its_name(elements, parity, stop, by_hand):
    rng = np.random.default_rng(elements)
    rest = (lambda: float(rng.exponential(4))) if by_hand else (lambda: 0.0)
    # text and chance, two speeds: one of the four for each case, all of them for each number of elements
    which = len(parity) + round(2 * stop) + 2 * by_hand
    codes = [c % 2**elements for c in TEXT] if which % 2 else rng.integers(0, 2**elements, 150).tolist()
    found = measured(start_stop(codes, elements, parity, stop, rest), 1 / 110 if which % 4 < 2 else 1 / 75)
    assert not found.speed.proven
    assert not found.codes
    assert f"{NAMES[elements]} elements" + (f" and {parity} parity" if parity else "") in found.other


@pytest.mark.parametrize("seed", range(3))
def test_what_is_no_start_stop_signal_is_refused(seed):
    rng = np.random.default_rng(seed)
    bits = rng.integers(0, 2, 1200).tolist()
    for levels in (manchester(bits), synchronous(bits), synchronous(np.repeat(bits, 2).tolist())):
        found = measured(levels, seed=seed)
        assert not found.speed.proven
        assert not found.codes


@pytest.mark.parametrize("stop", [1.0, 1.42, 1.5, 2.0, 3.0])
@pytest.mark.parametrize("by_hand", [False, True])
@pytest.mark.parametrize("seed", range(3))
def test_five_elements_are_ours_with_any_stop(stop, by_hand, seed):
    rng = np.random.default_rng(seed)
    rest = (lambda: float(rng.exponential(3))) if by_hand else (lambda: 0.0)
    codes = rng.integers(0, 32, 200).tolist()
    found = measured(start_stop(codes, 5, stop=stop, rest=rest), 0.022, seed)
    assert found.other == ""
    assert [int(code[::-1], 2) for code in found.codes] == codes


def test_the_file_is_refused_in_one_sentence(tmp_path):
    edges = edges_of(start_stop(TEXT, 7, "even"), 1 / 110)
    rows = [f"{t:.6f},{int(high)}" for t, high in zip(edges.times_s, edges.level_after, strict=True)]
    (tmp_path / "seven.csv").write_text("time (s),line\n0,1\n" + "\n".join(rows) + "\n")
    with pytest.raises(InputError, match=r"seven\.csv.*five elements.*seven elements and even parity at 110 Bd"):
        read_line(tmp_path / "seven.csv")
