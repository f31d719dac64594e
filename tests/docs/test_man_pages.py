"""The manual pages are right in the eyes of mandoc, an outside reader of man(7), and leave no command or option out."""

import re
import subprocess

import click
import man_pages
import pytest

from tapewright.terminal.run import tapewright


@pytest.fixture(scope="module")
def pages():
    return dict(man_pages.pages("tapewright", tapewright, None))


def mandoc(page, *options):
    done = subprocess.run(["mandoc", *options], input=page, capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


def test_every_command_has_its_page(pages):
    assert {"tapewright", "tapewright-line", "tapewright-line-read", "tapewright-serve"} <= pages.keys()
    assert len(pages) > 40


def test_mandoc_has_nothing_to_say(pages):
    assert {name: said for name, page in pages.items() if (said := mandoc(page, "-T", "lint", "-W", "warning"))} == {}


def test_mandoc_would_notice():
    assert mandoc('.TH A 1 2026-01-01\n.SH NAME\na \\- b\n.NOSUCH "x"\n', "-T", "lint", "-W", "warning")


def test_every_option_stands_in_the_page_as_it_is_read(pages):
    command = tapewright.get_command(click.Context(tapewright), "line").get_command(click.Context(tapewright), "read")
    shown = re.sub(".\b", "", mandoc(pages["tapewright-line-read"], "-T", "ascii"))  # bold is struck over
    options = [option.opts[0] for option in command.params if isinstance(option, click.Option)]
    assert len(options) > 10
    assert [option for option in options if option not in shown] == []


def test_a_line_that_begins_with_a_dot_is_no_request():
    assert man_pages._text(".toml is a file") == "\\&.toml is a file"


def test_they_are_written_into_the_folder(tmp_path, capsys):
    assert man_pages.main([str(tmp_path / "man1")]) == 0
    assert (tmp_path / "man1" / "tapewright-line-read.1").read_text().startswith(".TH")
    assert man_pages.main([]) == 2
