"""The house rules, executable: lint, types, import direction, a pure core, quick start, clean words."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from architecture.purity import RIM, touching_the_world

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "tapewright"
HEAVY = {"numpy", "scipy", "cv2", "PIL", "sqlalchemy", "networkx", "rich", "typst", "polars"}


def run_tool(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *words], cwd=ROOT, capture_output=True, text=True, check=False)


def test_ruff_finds_nothing():
    done = run_tool("ruff", "check", "--quiet", ".")
    assert done.returncode == 0, done.stdout


def test_mypy_finds_nothing():
    done = run_tool("mypy")
    assert done.returncode == 0, done.stdout


def test_imports_point_one_way():
    script = "import sys; from importlinter.cli import lint_imports_command; sys.exit(lint_imports_command())"
    done = subprocess.run([sys.executable, "-c", script, "--no-cache"], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("room", RIM)
def test_only_the_rim_of_a_room_touches_the_world(room):
    touching = {name.removeprefix(f"{room}/") for name in touching_the_world() if name.startswith(f"{room}/")}
    assert touching <= set(RIM[room].split()), "a file that was pure touches the world now"


def test_help_loads_nothing_heavy():
    script = (
        "import sys; from tapewright.terminal.run import run; run(['--help']);"
        f"loaded = sorted({HEAVY!r} & set(sys.modules)); sys.exit(' '.join(loaded) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, f"--help loads {done.stderr}"


def test_help_is_quick():
    """Under 0.3 s of processor time, which other work on the machine does not change as it does the clock."""
    took = []
    for _ in range(5):
        before = os.times()
        subprocess.run([sys.executable, "-m", "tapewright", "--help"], capture_output=True, cwd=ROOT, check=True)
        after = os.times()
        spent = (after.children_user - before.children_user) + (after.children_system - before.children_system)
        took.append(spent or after.elapsed - before.elapsed)
    assert min(took) < 0.3


def tracked() -> list[Path]:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True)
    return [ROOT / name for name in listed.stdout.split("\0") if name and (ROOT / name).exists()]


def test_no_path_of_one_machine_is_in_the_tree():
    pattern = re.compile("|".join(("/wor" + "k/", "/far" + "m/", "/roo" + "t/", "bash" + "_jobs")))
    for path in tracked():
        if path.suffix not in {".lock", ".png", ".wav"}:
            found = pattern.search(path.read_text(encoding="utf-8", errors="ignore"))
            assert found is None, f"{path}: {found and found.group()}"


def test_no_file_is_left_unfinished():
    pattern = re.compile("|".join(("NotImplemented" + "Error", "TO" + "DO", "FIX" + "ME")))
    for path in tracked():
        if path.suffix == ".py":
            assert pattern.search(path.read_text(encoding="utf-8")) is None, path
