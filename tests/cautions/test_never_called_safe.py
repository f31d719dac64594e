"""No text calls a machine, a step or a circuit safe."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
WORD = re.compile(
    r"\b(un)?saf(e|ely|er|est|ety)\b|\bharmless\b|\b(no|without) (danger|risk of)\b|\bcannot hurt\b", re.IGNORECASE
)
#: what may hold the word: it denies it, or speaks of threads, of numbers or of a template that is trusted
DENIED = re.compile(
    r"(never|nothing|nor|no text|not|no machine|says that) [^.]*\b(safe|harmless)\b"
    r"|\bsafe (to use from|from) (any|several) thread|safe in the journal|\bsafe = |= safe /|[(/] *safe\b|\bsafe,"
    r"|, safe\b|\| *safe\b|[Ss]afe to use from any thread",
    re.IGNORECASE,
)  # fmt: skip
FILES = sorted(
    path for folder in ("src", "docs") for path in (ROOT / folder).rglob("*")
    if path.suffix in {".py", ".toml", ".md", ".html", ".js", ".css", ".typ", ".json", ".txt"}
    and "vendor" not in path.parts
)  # fmt: skip


def claims(text):
    """Return the lines that call something safe."""
    return [line.strip() for line in text.splitlines() if WORD.search(line) and not DENIED.search(line)]


def test_no_text_calls_a_machine_safe():
    found = {str(path.relative_to(ROOT)): said for path in FILES if (said := claims(path.read_text("utf-8")))}
    assert found == {}
    assert len(FILES) > 300


@pytest.mark.parametrize("line", [
    "Now the machine is safe.", "It can be safely touched", "Safe to switch on", "harmless voltage",
])  # fmt: skip
def test_a_claim_is_found(line):
    assert claims(line) == [line]


@pytest.mark.parametrize("line", [
    "Nothing here makes a machine safe.", "never called safe", "Keeps jobs; safe to use from any thread.",
])  # fmt: skip
def test_a_denial_is_none(line):
    assert claims(line) == []
