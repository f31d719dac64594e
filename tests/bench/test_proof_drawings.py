"""The proof draws raw files anew: once for preview and PDF together, and again as soon as another file counts."""

import pytest

from tapewright.line import from_settings as line
from tapewright.terminal.run import run


@pytest.fixture
def measured(monkeypatch):
    """The captures that were measured to be drawn, in order."""
    seen, really = [], line.measure

    def measure(files, *more, **settings):
        seen.append(files["capture"].read_bytes())
        return really(files, *more, **settings)

    monkeypatch.setattr(line, "measure", measure)
    return seen


def record(folder, late, phase):
    capture = folder / f"late-{late}.csv"
    run(["line", "compose", "RYRYRYRY", "--late", f"3={late}", "-o", str(capture)])
    assert run(["line", "read", str(capture), "--nominal", "45.45", "--machine", "Petrel", "--phase", phase,
                "--book", str(folder / "workshop.book")]) == 0  # fmt: skip
    return capture.read_bytes()


def test_a_raw_file_is_measured_once_for_preview_and_pdf(caller, petrel, tmp_path, measured):
    found = record(tmp_path, 1.5, "as found")
    measured.clear()
    shown = caller.get(f"/machines/{petrel}/proof/preview").text
    assert "The line as found" in shown
    assert caller.get(f"/machines/{petrel}/proof/proof.pdf").content.startswith(b"%PDF")
    assert caller.get(f"/machines/{petrel}/proof/preview").text == shown
    assert measured == [found]
    left = record(tmp_path, 0.1, "as left")
    measured.clear()
    assert "The line as left" in caller.get(f"/machines/{petrel}/proof/preview").text
    assert measured == [left]
