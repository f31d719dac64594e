"""A capture format is one file and one line in the list: reading, help and page follow it."""

from types import SimpleNamespace

import pytest

from tapewright.line.command import read
from tapewright.recordings.files import formats
from tapewright.recordings.files.read import read_recordings


def test_the_help_names_every_format():
    for each in formats.FORMATS:
        assert each.LABEL in " ".join((read.help or "").split())


@pytest.mark.parametrize("needs_rate", [False, True])
def test_a_line_in_the_list_is_enough(tmp_path, monkeypatch, needs_rate):
    new = SimpleNamespace(
        NAME="new",
        LABEL="NEW",
        NEEDS_RATE=needs_rate,
        WHAT="made up",
        looks_like=lambda head: head.startswith(b"NEW!"),
        read=lambda path, options: (path.name, options.rate_hz),
    )
    monkeypatch.setattr(formats, "FORMATS", (new, *formats.FORMATS))
    (tmp_path / "a").write_bytes(b"NEW!\0\0")
    assert formats.format_of(b"NEW!\0\0", rate_given=True) is new
    assert (formats.format_of(b"NEW!\0\0", rate_given=False) is new) is not needs_rate
    assert read_recordings(tmp_path / "a", rate_hz=50.0) == ("a", 50.0)
