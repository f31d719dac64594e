"""The public Python API: the same document as the command's, typed, and quick to import."""

import json
import subprocess
import sys

import pytest

import tapewright as tw
from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.document import to_builtins
from tapewright.terminal.run import run

HEAVY = {"numpy", "scipy", "cv2", "msgspec", "click", "sqlalchemy"}


@pytest.fixture(scope="module")
def capture(tmp_path_factory):
    file = tmp_path_factory.mktemp("api") / "petrel.csv"
    words = ["--pattern", "pangram", "--late", "3=1.5", "--scatter", "0.3", "--seed", "3"]
    assert run(["line", "compose", "-o", str(file), *words]) == 0
    return file


def test_it_is_the_document_of_the_command(capture, capsys):
    line = tw.read_line(capture, nominal=45.45, expect="pattern:pangram")
    capsys.readouterr()
    run(["line", "read", str(capture), "--nominal", "45.45", "--expect", "pattern:pangram", "--json"])
    assert to_builtins(line) == json.loads(capsys.readouterr().out)
    assert line.contacts[2].closing_late_ms.value == pytest.approx(1.5, abs=0.1)
    assert "contact 3" in [finding.part for finding in line.findings]


def test_what_cannot_be_read_and_what_makes_no_sense_is_refused(tmp_path):
    (tmp_path / "none.csv").write_text("nothing of the kind\n")
    with pytest.raises(InputError, match=r"none\.csv"):
        tw.read_line(tmp_path / "none.csv")
    with pytest.raises(WrongUseError):
        tw.read_line(tmp_path / "none.csv", nominal=4)


def test_importing_it_loads_nothing_heavy():
    script = f"import sys, tapewright; sys.exit(' '.join({HEAVY!r} & set(sys.modules)) or 0)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
