"""Every `console` and `python` block of the documentation is run, and prints what the page shows.

How a page is run and how near its numbers must come is told in scripts/shown_output.py; what that comparison lets
through and what not is tested here too.
"""

import shlex

import pytest
import shown_output
from shown_output import PAGES, ROOT, differs, page_folder, refreshed, run_page, steps_of

from tapewright.terminal.run import run


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_page_prints_what_it_shows(page):
    text = page.read_text(encoding="utf-8")
    with page_folder():
        for step, printed in run_page(text):
            problem = differs(step.expected(text), printed, step.percent)
            assert not problem, f"{page.name}: {step.source}\n{problem}\n-- it printed:\n{printed}"


def test_the_example_is_what_its_command_writes(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    told = (ROOT / "examples" / "README.md").read_text(encoding="utf-8")
    command = next(line.strip() for line in told.splitlines() if line.startswith("    tapewright"))
    assert run(shlex.split(command)[1:]) == 0
    assert (tmp_path / "petrel.csv").read_text() == (ROOT / "examples" / "petrel.csv").read_text()


SHOWN = "contact 3: closes 1.53 ± 0.05 ms late, in 54 of 54 characters.\n"


@pytest.mark.parametrize(
    "printed",
    [
        SHOWN,
        "contact 3: closes 1.54 ± 0.05 ms late, in 54 of 54 characters.\n",  # the last place
        "contact 3:  closes 1.52 ± 0.06 ms late, in 54 of 54 characters.",  # blanks
    ],
)
def test_what_may_differ(printed):
    assert not differs(SHOWN, printed)


@pytest.mark.parametrize(
    "printed",
    [
        "contact 3: closes 1.55 ± 0.05 ms late, in 54 of 54 characters.\n",
        "contact 3: closes 1.53 ± 0.05 ms late, in 53 of 54 characters.\n",
        "contact 2: closes 1.53 ± 0.05 ms late, in 54 of 54 characters.\n",
        "contact 3: closes 1.53 ± 0.05 ms early, in 54 of 54 characters.\n",
        "contact 3: closes -1.53 ± 0.05 ms late, in 54 of 54 characters.\n",
        "contact 3: closes 1.53 ± 0.05 s late, in 54 of 54 characters.\n",
        SHOWN + "contact 4: on time\n",
        "Read.\n" + SHOWN,
        "",
    ],
)
def test_what_may_not_differ(printed):
    assert differs(SHOWN, printed)


def test_dots_inside_a_line_stand_for_nothing():
    assert differs("closes 1.5... ms late\n", "closes 1.53 ms late\n")


@pytest.mark.parametrize(
    ("shown", "same"),
    [
        ("a\n...\n", True),
        ("...\nd\n", True),
        ("...\nb\n...\nd\n", True),
        ("a\n...\nc\nd\n", True),
        ("a\n", False),
        ("...\nb\n", False),
        ("...\nc\nb\n...\n", False),
        ("b\n...\n", False),
    ],
)
def test_a_line_of_dots_leaves_lines_out(shown, same):
    assert bool(differs(shown, "a\nb\nc\nd\n")) is not same


def test_a_tolerance_stands_before_the_block_and_is_its_own():
    first, second = "```console\n$ tapewright a\n1.0\n$ tapewright b\n```\n", "```console\n$ tapewright c\n```\n"
    page = f"<!-- shown: within 5 % -->\n{first}\n{second}"
    assert [step.percent for step in steps_of(page)] == [5.0, 5.0, None]
    assert not differs("10.00\n", "10.49\n", 5.0)
    assert differs("10.00\n", "10.51\n", 5.0)
    assert differs("10\n", "11\n", 5.0)


def test_clock_and_keys_are_compared_by_form():
    shown = "Line 2: 4d5c6e7f8a90, 2026-12-01 02:34 UTC\n"
    assert not differs(shown, "Line 2: 012345678901, 2031-01-02 03:04 UTC\n")
    assert differs(shown, "Line 2: none, 2031-01-02 03:04 UTC\n")


def test_a_page_is_refreshed_where_it_is_wrong_and_only_there(monkeypatch):
    says = {"a": "one 1.00\ntwo\nthree 3.00\nfour\n", "b": "same 7.001\n"}
    monkeypatch.setattr(shown_output, "_command", lambda line: says[line.split()[1]])
    page = "Head\n```console\n$ tapewright a\none 2.00\n...\nthree 9.0\n...\n$ tapewright b\nsame 7.002\n```\nTail\n"
    assert refreshed(page) == page.replace("2.00", "1.00").replace("9.0", "3.00")


def test_python_is_run_with_one_set_of_names_a_page():
    page = "```python\nn = 3\n```\nthen\n```python\nprint(n / 4)\n```\n\n```text\n0.75\n```\n"
    assert [printed for _, printed in run_page(page)] == ["", "0.75\n"]
    assert refreshed(page.replace("0.75", "0.5")) == page
