"""The demo's chapter on the magnet runs, and what it reads agrees with what the practice machine knows."""

import re

from tapewright.terminal.demo.magnet import chapter


def test_the_chapter_tells_free_from_stuck(capsys, tmp_path):
    chapter(tmp_path)
    out = capsys.readouterr().out
    free, stuck = out.split("heron-free.csv: ")[1].split("heron-stuck.csv: ")
    assert "The armature moved." in free
    assert "The armature did not move." in stuck
    read = float(re.search(r"Lands after\s+([\d.]+)", free).group(1))
    known = float(re.search(r"it landed after ([\d.]+) ms", free).group(1))
    assert abs(read - known) < 0.1
    assert out.index("Before anything is switched on") < out.index("Steady current")
    assert "Which resistor and suppressor" in out
    assert {"heron-drive.svg", "heron-free.svg"} <= {file.name for file in tmp_path.iterdir()}
