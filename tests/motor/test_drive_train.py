"""Drive trains in exact fractions, against published speeds and a worked example."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapewright.motor.drive_train import Stage, Train, synchronous_rpm, usual_units

TEETH = st.integers(1, 300).map(Fraction)
STAGES = st.lists(st.builds(Stage, TEETH, TEETH), max_size=5).map(tuple)


@pytest.mark.parametrize(
    ("baud", "units", "rpm"),
    [
        # Army subcourse SS0330: 22 ms unit, 163 ms a character: 368 operations a minute (exact 1.42 units: 367.6)
        (Fraction(500, 11), "7.42", 367.6),
        # derived table of speeds: operations a minute = 60 B / U; a sending cam turns once a character
        (Fraction(50), "7.5", 400.0),
        (Fraction(75), "7.5", 600.0),
        (Fraction("74.2"), "7.42", 600.0),
        (Fraction(100), "7.5", 800.0),
        # field note: a receiving shaft at 420 rpm and 45.45 Bd makes 6.5 elements a turn
        (Fraction(500, 11), "6.5", 419.6),
    ],
)
def test_cam_shaft_turns_at_the_published_speed(baud, units, rpm):
    assert float(Train((), Fraction(units)).motor_rpm(baud)) == pytest.approx(rpm, abs=0.05)


def test_a_worked_train_by_hand():
    """1800 rpm, 14:60, 6.5 units a turn: 420 rpm, 7 turns a second, 45.5 Bd. By hand."""
    train = Train((Stage(Fraction(14), Fraction(60)),), Fraction("6.5"))
    assert train.shaft_rpm(Fraction(1800)) == 420
    assert train.baud(Fraction(1800)) == Fraction("45.5")


@given(STAGES, st.fractions(Fraction(1), Fraction(200)), st.fractions(Fraction(5), Fraction(12)))
def test_there_and_back_is_exact(stages, baud, units):
    train = Train(stages, units)
    assert train.baud(train.motor_rpm(baud)) == baud


@given(STAGES)
def test_the_order_of_the_stages_does_not_matter(stages):
    assert Train(stages, Fraction(7)).ratio == Train(stages[::-1], Fraction(7)).ratio


def test_synchronous_motor_on_the_other_mains_is_a_sixth_slow():
    """120 f / p: 1800 rpm on 60 Hz and 1500 on 50 Hz with four poles (textbook)."""
    assert (synchronous_rpm(Fraction(60), 4), synchronous_rpm(Fraction(50), 4)) == (1800, 1500)
    with pytest.raises(ValueError, match="even"):
        synchronous_rpm(Fraction(50), 3)


def test_usual_character_length():
    """7.42 units in the 45.45 Bd class (NEETS module 17), 7.5 at 50 Bd (ITU, from memory)."""
    assert (usual_units(Fraction(500, 11)), usual_units(Fraction(50))) == (Fraction("7.42"), Fraction("7.5"))


@pytest.mark.parametrize(("baud", "units"), [("56.9", "7.42"), ("56.88", "7.42"), ("74.2", "7.42"), ("75", "7.5"),
                                             ("50", "7.5"), ("100", "7.5"), ("45.5", "7.42")])  # fmt: skip
def test_a_rounded_rate_has_the_character_of_its_class(baud, units):
    """NEETS module 17 p. 3-18: a standard stop of 1.42; the trade writes 56.9 for 56.88 and 45.5 for 45.45."""
    assert usual_units(Fraction(baud)) == Fraction(units)
