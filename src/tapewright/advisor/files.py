"""Evidence files on disk: TOML or JSON written by a person, JSON documents written by the measuring commands."""

import json
from pathlib import Path

from tapewright.advisor.evidence_table import Table
from tapewright.advisor.models import read_toml
from tapewright.errors import InputError

LARGEST_BYTES = 200_000_000


def read_evidence_file(name: str) -> Table:
    """Return the table in a file; JSON when it begins with a brace, TOML otherwise.

    Raises:
        InputError: when it is neither, or too large to be evidence.
    """
    path = Path(name)
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError(name, expected="an evidence file or a result document", found="a file over 200 MB")
    head = path.read_bytes()[:64].lstrip(b"\xef\xbb\xbf \t\r\n")
    return _read_json(path) if head.startswith((b"{", b"[")) and not head.startswith(b"[[") else read_toml(path)


def _read_json(path: Path) -> Table:
    try:
        table = json.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as problem:
        place = f"byte {problem.start}"
        raise InputError(
            str(path), place=place, expected="UTF-8 text", found="other bytes", do="Save the file as UTF-8."
        ) from problem
    except (json.JSONDecodeError, RecursionError) as problem:
        if path.suffix.lower() == ".toml":  # a TOML file may begin with a table's name in brackets
            return read_toml(path)
        found = str(problem) or "nesting too deep"
        raise InputError(str(path), expected="JSON", found=found, do="Write it again with --json.") from problem
    if not isinstance(table, dict):
        raise InputError(str(path), expected="one JSON object", found=type(table).__name__)
    return table
