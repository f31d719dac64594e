"""The demo's chapter of speed and margin ends where it says."""

from tapewright.terminal.demo.speed_and_margin import chapter


def test_chapter_runs_to_its_end(tmp_path, capsys):
    chapter(tmp_path)
    out = capsys.readouterr().out
    assert "motor 1837.78 (exactly 7500000/4081) rpm" in out
    assert "The output is off." in out
    assert "The ways agree" in out
    assert "Set it to 48" in out
