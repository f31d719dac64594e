"""Every `console` block in the documentation is run, and prints what the page says.

A block looks like this; `...` stands for anything, on a line of its own for any number of lines:

    ```console
    $ tapewright line compose "RYRY" -o ry.csv
    ```

The blocks of one page share one folder, in order. A line `$ ` that is not `tapewright` is not run but must be
one of SHOWN_ONLY.
"""

import contextlib
import io
import os
import re
import shlex
from pathlib import Path

import pytest

from tapewright.terminal.run import run

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
BLOCK = re.compile(r"^```console\n(.*?)^```", re.MULTILINE | re.DOTALL)
SHOWN_ONLY = ("python3 dev.py", "python scripts/")


def commands_of(block: str) -> list[tuple[str, str]]:
    """Split a block in commands (a trailing backslash goes on) with the output each should print."""
    block = re.sub(r"\\\n\s*", " ", block)
    parts = re.split(r"^\$ (.*)\n", block, flags=re.MULTILINE)[1:]
    return list(zip(parts[::2], parts[1::2], strict=True))


def matches(expected: str, printed: str) -> bool:
    """Compare, with `...` as a wildcard and white space at line ends ignored."""
    wanted = "\n".join(line.rstrip() for line in expected.strip().splitlines())
    got = "\n".join(line.rstrip() for line in printed.strip().splitlines())
    return re.fullmatch(re.escape(wanted).replace(re.escape("..."), ".*?"), got, re.DOTALL) is not None


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_page_prints_what_it_says(page, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "110")
    monkeypatch.setenv("TAPEWRIGHT_BOOK", "workshop.book")
    for block in BLOCK.findall(page.read_text(encoding="utf-8")):
        for command, expected in commands_of(block):
            if command.startswith(SHOWN_ONLY):
                continue
            words = shlex.split(command)
            assert words[0] == "tapewright", f"{page.name}: cannot check {command!r}"
            out, err = io.StringIO(), io.StringIO()
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                code = run(words[1:])
            assert code in (0, 1, 3, 4), f"{command}: exit {code}\n{err.getvalue()}"
            printed = out.getvalue() + err.getvalue()
            assert matches(expected, printed), f"{page.name}: {command} printed\n{printed}{os.linesep}not\n{expected}"
