"""The demo chapter from the complaint to the part."""

from tapewright.terminal.demo.part_at_fault import FAULT, chapter
from tapewright.terminal.run import run


def test_the_part_is_found_in_fewer_minutes_than_by_the_list(tmp_path, capsys):
    chapter(tmp_path)
    told = capsys.readouterr().out
    assert "mended" in told
    assert "The path not taken" in told
    advised = float(told.split(" min in all")[0].rsplit(maxsplit=1)[-1])
    fixed = float(told.split("in the order of the list: ")[1].split()[0])
    assert advised < fixed
    assert run(["diagnose", "--evidence", str(tmp_path / "petrel-evidence.toml")]) in (1, 3)
    assert FAULT in capsys.readouterr().out
