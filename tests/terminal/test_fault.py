"""A fault of the program ends with 70 in one paragraph, never with a verdict's code; its details are kept in a file."""

import re
from pathlib import Path

import click
import pytest

from tapewright.terminal import run as door


@click.command()
def broken():
    """Break."""
    raise ZeroDivisionError("a secret of the inside")


def test_a_fault_is_no_verdict(monkeypatch, capsys):
    monkeypatch.setattr(door, "tapewright", broken)
    assert door.run([]) == 70
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
    assert "this is a fault of the program" in told.err
    file = Path(re.search(r"in (\S+\.txt)", told.err)[1])
    assert "a secret of the inside" in file.read_text(encoding="utf-8")
    file.unlink()


def test_without_room_for_the_details_it_is_said_all_the_same(monkeypatch, capsys):
    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(door, "tapewright", broken)
    monkeypatch.setattr("tempfile.NamedTemporaryFile", full)
    assert door.run([]) == 70
    assert "could not be written" in capsys.readouterr().err


@pytest.mark.parametrize(("content", "taken", "words"), [
    ("RY RY\n", "RY RY\r\n", "7 characters, the last of them a line end"), ("RY", "RY", "2 characters, without"),
    ("A\r\nB\r\n\r\n", "A\r\nB\r\n\r\n", "8 characters"),
])  # fmt: skip
def test_an_expected_file_is_taken_as_it_stands(content, taken, words, tmp_path, capsys):
    from tapewright.furniture.options import text_argument

    (tmp_path / "sent.txt").write_bytes(content.encode())
    assert text_argument(f"@{tmp_path / 'sent.txt'}") == taken
    assert words in capsys.readouterr().err
