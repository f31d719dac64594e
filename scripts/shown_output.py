"""Run what the documentation shows, compare it with what is printed, or write anew what is printed.

    python scripts/shown_output.py [PAGE ...]      refresh the shown output of these pages, or of all

A page shows true output, never a placeholder. Two kinds of block are run, in order, in one folder a page:

    ```console                                     ```python
    $ tapewright line read examples/petrel.csv     print(line.speed.baud)
    petrel.csv: csv, list of changes, 28.14 s      ```
    ...                                            ```text
    ```                                            45.0 ± 0.1 Bd
                                                   ```

A line of `...` alone leaves lines out; inside a line dots are dots. How near a number has to come stands outside what
the reader sees:

* without a word, a number with decimals may differ by one in its last place, a whole number not at all;
* `<!-- shown: within 5 % -->` on the line before the block: every number with decimals of the block within 5 per cent;
* what the clock and the dice make (dates, times of day, keys and fingerprints) is compared by its form.

Commands that begin with one of SHOWN_ONLY are shown, not run.
"""

import contextlib
import difflib
import io
import os
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import repeat
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
SHOWN_ONLY = ("python3 dev.py", "python scripts/")
WIDTH = "110"

BLOCK = re.compile(
    r"(?:^<!-- shown: within (?P<percent>[\d.]+) % -->\n)?"
    r"^```(?P<kind>console|python)\n(?P<body>.*?)^```\n(?:\s*^```text\n(?P<output>.*?)^```\n)?",
    re.MULTILINE | re.DOTALL,
)
#: what the clock and the dice make -> how it is compared
BY_FORM = (
    (re.compile(r"\b\d{4}-\d{2}-\d{2}\b"), "<date>"),
    (re.compile(r"\b\d{2}:\d{2}(:\d{2})?\b"), "<time>"),
    (re.compile(r"\b(?:[0-9a-f]{12}|[0-9a-f]{32}|[0-9a-f]{64})\b"), "<key>"),
)
NUMBER = re.compile(r"(?<![\w.])[-+−]?\d+(?:\.\d+)?(?![\w]*\d)")
LEFT_OUT = "..."


@dataclass(frozen=True)
class Step:
    """One command or piece of Python of a page, and where the output it should print stands in the page's text."""

    kind: str
    source: str
    start: int
    end: int
    percent: float | None

    def expected(self, page: str) -> str:
        """Return the shown output."""
        return page[self.start : self.end] if self.start >= 0 else ""


def steps_of(page: str) -> Iterator[Step]:
    """Return the steps of a page in order."""
    for block in BLOCK.finditer(page):
        percent = float(block["percent"]) if block["percent"] else None
        if block["kind"] == "python":
            yield Step("python", block["body"], *block.span("output"), percent)
            continue
        at = block.start("body")
        # a trailing backslash goes on with the command
        commands = list(re.finditer(r"^\$ ((?:.*\\\n)*.*)\n", block["body"], re.MULTILINE))
        ends = [following.start() for following in commands[1:]] + [len(block["body"])]
        for command, end in zip(commands, ends, strict=True):
            yield Step("console", re.sub(r"\\\n\s*", " ", command[1]), at + command.end(), at + end, percent)


def run_page(page: str) -> Iterator[tuple[Step, str]]:
    """Run the steps of a page in the working folder; return each with what it printed."""
    names: dict[str, object] = {"__name__": "page"}
    for step in steps_of(page):
        if not step.source.startswith(SHOWN_ONLY):
            yield step, _python(step.source, names) if step.kind == "python" else _command(step.source)


def _command(line: str) -> str:
    from tapewright.terminal.run import run

    words = shlex.split(line)
    if words[0] != "tapewright":
        raise ValueError(f"only tapewright is run, and {', '.join(SHOWN_ONLY)} shown; found {line!r}")
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(words[1:])
    if code not in (0, 1, 3, 4):
        raise ValueError(f"{line}: exit {code}\n{err.getvalue()}")
    return out.getvalue() + err.getvalue()


def _python(source: str, names: dict[str, object]) -> str:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile(source, "page", "exec"), names)
    return out.getvalue()


def differs(expected: str, printed: str, percent: float | None = None) -> str:
    """Return in what the shown output is not the printed one; nothing when it is."""
    got, parts = _lines(printed), list(_parts(_lines(expected)))
    at, free = 0, False
    for index, part in enumerate(parts):
        if part is None:
            free = True
            continue
        last_place = len(got) - len(part)
        first = last_place if free and index == len(parts) - 1 else at
        room = range(max(first, at), (last_place if free else min(at, last_place)) + 1)
        found = next((k for k in room if all(map(_same, part, got[k:], repeat(percent)))), None)
        if found is None:
            return "not printed there:\n" + "\n".join(part)
        at, free = found + len(part), False
    return "" if free or at == len(got) else "printed, but not shown:\n" + "\n".join(got[at:])


def _lines(text: str) -> list[str]:
    return [line.rstrip() for line in text.strip("\n").splitlines()] if text.strip() else []


def _parts(lines: list[str]) -> Iterator[list[str] | None]:
    """Return the stretches of lines between the lines that leave something out (None)."""
    part: list[str] = []
    for line in lines:
        if line.strip() == LEFT_OUT:
            if part:
                yield part
            yield None
            part = []
        else:
            part.append(line)
    if part:
        yield part


def _same(shown: str, printed: str, percent: float | None) -> bool:
    """Compare two lines: words and form to the letter, numbers within their tolerance."""
    a, b = _by_form(shown), _by_form(printed)
    # a number that grows by a digit moves what stands beside it: blanks count, how many does not
    if re.sub(r"\s+", " ", NUMBER.sub("#", a)) != re.sub(r"\s+", " ", NUMBER.sub("#", b)):
        return False
    return all(map(_near, NUMBER.findall(a), NUMBER.findall(b), repeat(percent)))


def _by_form(line: str) -> str:
    for pattern, form in BY_FORM:
        line = pattern.sub(form, line)
    return line


def _near(shown: str, printed: str, percent: float | None) -> bool:
    if shown == printed or "." not in shown:
        return shown == printed
    a, b = (float(text.replace("−", "-")) for text in (shown, printed))
    last_place = 10.0 ** -len(shown.split(".")[1])
    allowed = max(last_place, abs(a) * (percent or 0) / 100)
    return abs(a - b) <= allowed * (1 + 1e-9)


def refreshed(page: str) -> str:
    """Return the page with the output that its steps print now; what it leaves out stays left out."""
    new, done = [], 0
    for step, printed in run_page(page):
        if step.start < 0:
            continue
        shown = step.expected(page)
        if differs(shown, printed, step.percent):
            shown = _shown_anew(shown, printed)
        new += [page[done : step.start], shown]
        done = step.end
    return "".join([*new, page[done:]])


def _shown_anew(shown: str, printed: str) -> str:
    """Return the printed lines that answer the shown ones, each stretch at the place it is most like."""
    got, out, at = _lines(printed), [], 0
    parts = list(_parts(_lines(shown))) or [got]
    for index, part in enumerate(parts):
        if part is None:
            out.append(LEFT_OUT)
            continue
        free_before = index > 0
        last = index == len(parts) - 1
        start = max(range(at, len(got) + 1), key=lambda k: _likeness(part, got[k:])) if free_before else at
        end = len(got) if last else start + len(part)
        out += got[start:end]
        at = end
    return "".join(f"{line}\n" for line in out)


def _likeness(part: list[str], lines: list[str]) -> float:
    return sum(difflib.SequenceMatcher(None, a, b).ratio() for a, b in zip(part, lines, strict=False))


@contextlib.contextmanager
def page_folder() -> Iterator[Path]:
    """Be in a fresh folder with the examples and a book of its own, on a terminal of a known width."""
    surroundings = {"COLUMNS": WIDTH, "TAPEWRIGHT_BOOK": "workshop.book", "MPLBACKEND": "agg"}
    before = {name: os.environ.get(name) for name in surroundings}
    with tempfile.TemporaryDirectory() as scratch:
        shutil.copytree(ROOT / "examples", Path(scratch) / "examples")
        os.environ.update(surroundings)
        try:
            with contextlib.chdir(scratch):
                yield Path(scratch)
        finally:
            for name, value in before.items():
                if value is None:
                    del os.environ[name]
                else:
                    os.environ[name] = value


def main(arguments: list[str]) -> int:
    """Refresh pages; say which changed."""
    for file in [Path(name).resolve() for name in arguments] or PAGES:
        page = file.read_text(encoding="utf-8")
        with page_folder():
            new = refreshed(page)
        if new != page:
            file.write_text(new, encoding="utf-8")
            print("refreshed", file.relative_to(ROOT))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
