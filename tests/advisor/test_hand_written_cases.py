"""Cases in a restorer's words: the right cause must be among the first three.

They were written by the builders from the trade's lists, so they prove that words lead where they should and that no
link points the wrong way; they do not prove how well strangers' cases go.
"""

import tomllib
from pathlib import Path

import pytest

from tapewright.advisor.measure import gather
from tapewright.advisor.models import load
from tapewright.advisor.reason import diagnose

CASES = tomllib.loads((Path(__file__).parent / "hand_written.toml").read_text(encoding="utf-8"))["case"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["right"][0])
def test_right_cause_is_among_the_first_three(case):
    told = {key: value for key, value in case.items() if key != "right"}
    model = load(case.get("machine", "whole"))
    evidence, _ = gather([("case", told)], model)
    found = diagnose(model, evidence)
    assert {belief.cause for belief in found.causes[:3]} & set(case["right"])
