"""Evidence files on disk: TOML or JSON written by a person, JSON documents written by the measuring commands."""

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from tapewright.advisor.models import read_toml
from tapewright.errors import InputError

LARGEST_BYTES = 200_000_000


class EvidenceFilesOnDisk:
    """Reads evidence files."""

    def read(self, name: str) -> Mapping[str, Any]:
        """Return the table in a file; JSON when it begins with a brace, TOML otherwise.

        Raises:
            InputError: when it is neither, or too large to be evidence.
        """
        path = Path(name)
        if path.stat().st_size > LARGEST_BYTES:
            raise InputError(name, expected="an evidence file or a result document", found="a file over 200 MB")
        head = path.read_bytes()[:64].lstrip(b"\xef\xbb\xbf \t\r\n")
        return _read_json(path) if head.startswith((b"{", b"[")) and not head.startswith(b"[[") else read_toml(path)


def _read_json(path: Path) -> Mapping[str, Any]:
    try:
        table = json.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as problem:
        raise InputError(str(path), place=f"byte {problem.start}", expected="UTF-8 text", found="other bytes",
                         do="Save the file as UTF-8.") from problem  # fmt: skip
    except (json.JSONDecodeError, RecursionError) as problem:
        if _is_toml_table(path):
            return read_toml(path)
        raise InputError(str(path), expected="JSON", found=str(problem) or "nesting too deep",
                         do="Write it again with --json.") from problem  # fmt: skip
    if not isinstance(table, dict):
        raise InputError(str(path), expected="one JSON object", found=type(table).__name__)
    return table


def _is_toml_table(path: Path) -> bool:
    """A TOML file may begin with a table's name in brackets."""
    return path.suffix.lower() == ".toml"
