"""What is said about wrong characters, and what is not."""

import numpy as np
import pytest

from tapewright.alphabets import ITA2, encode
from tapewright.message import compare
from tapewright.message.errors_text import errors_text

FOX = encode("THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890", ITA2) * 3


def said(received, sent=FOX):
    return errors_text(compare(sent, received), ITA2)


def test_all_right():
    # 3 x 55 clean characters: 1 - 0.05^(1/165) = 1.80 %
    assert said(FOX) == "All 165 characters came as expected; at 95 % confidence fewer than 1.8 % are wrong."


def test_a_lost_mark_names_its_element():
    text = said([c[:2] + "0" + c[3:] for c in FOX])
    marks = sum(c[2] == "1" for c in FOX)
    assert f"Element 3: {marks} of {marks} marks came as space." in text
    assert "Kinds: drop mark" in text
    assert "depends" not in text


def test_a_whole_cause_is_said_instead_of_its_traces():
    text = said([c[::-1] for c in FOX])
    assert "One cause explains all of it: element order reversed." in text
    assert "Element " not in text


def test_causes_that_cannot_be_told_apart_are_all_said():
    text = said(["10101", "01010"] * 30, ["01010", "10101"] * 30)
    assert " or " in text
    assert "cannot tell them apart" in text


def test_dependence_is_said():
    received, before = [], "0"
    for code in FOX:
        received.append(code[:3] + ("0" if before == "0" else code[3]) + code[4:])
        before = code[3]
    assert "depends on the character before" in said(received)


def test_slow_pull_in_is_suspected():
    def without_lone_marks(code):
        around = "0" + code + "1"
        return "".join("0" if around[n : n + 3] == "010" else c for n, c in enumerate(code))

    assert "slow pull-in?" in said([without_lone_marks(c) for c in FOX])


@pytest.mark.parametrize(("sent", "received"), [([], []), (FOX, []), ([], FOX), (["1100000"], ["1110000"])])
def test_odd_cases_have_words_too(sent, received):
    assert said(received, sent)


def test_a_kind_that_fits_nearly_all_is_said_first():
    # looks late at element 5 always, at element 4 every other time
    text = said([(c[:4] if n % 2 else c[:3] + c[4]) + "1" for n, c in enumerate(FOX)])
    assert "fit one kind, shifted late: elements were taken from the one after" in text
    assert "Element 5" not in text
    repeats = [code for n, c in enumerate(FOX) for code in ([c, c] if n % 40 == 7 else [c])]
    assert "the character before came again" in said(repeats)


def test_noise_is_called_so():
    generator = np.random.default_rng(3)
    assert "First make sure of the expected text" in said([FOX[n] for n in generator.integers(0, 165, 165)])
