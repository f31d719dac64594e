"""Files are written whole or not at all."""

import errno
from pathlib import Path

import pytest

from tapewright.furniture.whole_file import write_whole
from tapewright.terminal.run import run


def full(*_, **__):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_full_disk_leaves_the_old_file_and_no_other(tmp_path, monkeypatch):
    (tmp_path / "a.txt").write_text("old")
    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match="No space left") as told:
        write_whole(tmp_path / "a.txt", "new")
    assert told.value.filename == str(tmp_path / "a.txt")
    assert [(file.name, file.read_text()) for file in tmp_path.iterdir()] == [("a.txt", "old")]


@pytest.mark.parametrize("words", [["sheet", "new", "x.toml"], ["tape", "draw", "ABC", "-o", "x.svg"]])
def test_a_full_disk_is_named_with_the_file(tmp_path, monkeypatch, capsys, words):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(Path, "write_bytes", full)
    assert run(words) == 4
    said = capsys.readouterr().err
    assert "x." in said
    assert "full disk" in said
    assert list(tmp_path.iterdir()) == []


def test_what_was_typed_is_shown_when_it_cannot_be_written(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", iter(["y\n", "q\n"]))
    monkeypatch.setattr(Path, "write_bytes", full)
    assert run(["sheet", "enter", "petrel", "-o", "j.toml", "--station", "motor and shaft"]) == 4
    shown = capsys.readouterr()
    assert "[[entry]]" in shown.out
    assert "full disk" in shown.err
