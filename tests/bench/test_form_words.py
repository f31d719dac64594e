"""The page speaks of its fields where the measuring speaks of options, and has a field for each of those."""

import ast
import re
from pathlib import Path

import pytest

import tapewright
from tapewright.bench.measuring import coil_settings, line_settings
from tapewright.bench.words import FIELDS, in_fields
from tapewright.errors import InputError

SOURCE = Path(tapewright.__file__).parent
FORM = "".join((SOURCE / "bench" / "templates" / name).read_text("utf-8") for name in ("_drop.html", "_drop_more.html"))
#: what measures a file that arrived
MEASURING = ("line", "tape", "coil", "recordings/files")


def named_options():
    """Return each option that a sentence of the measuring names, with its file; docstrings are not said to anybody."""
    for folder in MEASURING:
        for file in (SOURCE / folder).rglob("*.py"):
            live = "live" in file.relative_to(SOURCE).parts
            if live or "command" in file.name or file.name in ("overlay.py", "settings.py"):
                continue  # there an option is an option
            tree = ast.parse(file.read_text(encoding="utf-8"))
            unsaid = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            for node in ast.walk(tree):
                if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in unsaid:
                    yield from ((option, file.name) for option in re.findall(r"--[a-z][a-z-]*", node.value))


def test_each_option_that_is_named_has_a_field():
    named = set(named_options())
    assert {option for option, _ in named} >= {"--expect", "--clock-ppm"}, "found what is known to be there"
    assert {(option, file) for option, file in named if option not in FIELDS} == set()


@pytest.mark.parametrize("label", FIELDS.values())
def test_each_label_stands_in_the_form(label):
    assert f">{label}</label>" in FORM


def test_an_option_becomes_the_label_of_its_field():
    assert in_fields("give it with --expect") == "give it with “Text that was sent or punched”"
    assert in_fields("--unheard-of stays") == "--unheard-of stays"


def test_level_threshold_and_clock_reach_the_measuring():
    said = {"idle": "low", "threshold": "2,0 3.5", "clock_ppm": "50", "channel": "D1"}
    wanted = {"idle": "low", "threshold": [2.0, 3.5], "clock_ppm": 50.0, "channel": "D1"}
    assert wanted.items() <= line_settings(said).items()
    assert line_settings({"idle": "", "threshold": " "}) == line_settings({})
    assert coil_settings({"series_ohm": "37"})["series_ohm"] == 37


@pytest.mark.parametrize(
    ("field", "typed", "label"),
    [
        ("idle", "middle", "Level at rest"),
        ("threshold", "1 2 3", "Threshold"),
        ("threshold", "high", "Threshold"),
        ("threshold", "nan", "Threshold"),
    ],
)
def test_what_is_no_level_is_refused_by_the_name_of_its_field(field, typed, label):
    with pytest.raises(InputError, match=label):
        line_settings({field: typed})
