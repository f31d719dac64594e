r"""On which line each key of a TOML file stands.

The standard library's reader gives values without places, and a style-keeping reader costs a dependency and
tens of milliseconds on a long sheet; all that is needed is the first line of each key. This scanner follows
headers, keys, strings and brackets, and leaves every question of validity to the real reader, which goes first.

Picture (path -> line):

    1  machine = "Petrel"            ("machine",)                   -> 1
    2  [[requirement]]               ("requirement", 0)             -> 2
    3  id = "x"                      ("requirement", 0, "id")       -> 3
    4  test = { low = 1, high = 2 }  ("requirement", 0, "test")     -> 4   (inner keys: the line they begin on)
"""

import re
from dataclasses import dataclass, field

Path = tuple[str | int, ...]

KEY = re.compile(r"""\s*("(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*(\.)?""")
OPENERS, CLOSERS = "[{", "]}"


@dataclass(slots=True)
class TomlLines:
    """The places of one file's keys.

    Attributes:
        lines: path of a key -> line, counted from 1.
    """

    lines: dict[Path, int] = field(default_factory=dict)

    def line_of(self, path: Path) -> int:
        """Return the line of a key, or of the nearest table around it; 1 when nothing of it is known."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return 1


def index_lines(text: str) -> TomlLines:
    """Index a text that the TOML reader has accepted."""
    found = TomlLines()
    counts: dict[Path, int] = {}
    table: Path = ()
    rest_of: str | None = None  # what ends the value that is still open, None between values
    depth = 0
    for number, line in enumerate(text.split("\n"), start=1):
        if rest_of is None and depth == 0:
            stripped = line.strip()
            if not stripped or stripped.startswith("#"):
                continue
            if stripped.startswith("["):
                table = _header(stripped, counts)
                found.lines.setdefault(table, number)
                continue
            keys, value_at = _keys(line)
            found.lines.setdefault(table + tuple(keys), number)
            line = line[value_at:]
        rest_of, depth = _scan(line, rest_of, depth)
    return found


def _header(line: str, counts: dict[Path, int]) -> Path:
    many = line.startswith("[[")
    keys, _ = _keys(line.lstrip("["))
    path: Path = ()
    for key in keys[:-1]:
        path = (*path, key)
        if path in counts:
            path = (*path, counts[path])
    path = (*path, keys[-1])
    if many:
        counts[path] = counts.get(path, -1) + 1
        # tables inside the earlier elements are numbered anew in the next one by their longer path
        return (*path, counts[path])
    return path


def _keys(line: str) -> tuple[list[str], int]:
    """Split a dotted key; give it with the place just after it."""
    keys: list[str] = []
    at = 0
    while match := KEY.match(line, at):
        word = match[1]
        keys.append(word[1:-1] if word[0] in "\"'" else word)
        at = match.end()
        if not match[2]:
            break
    return keys or [""], at


def _scan(line: str, rest_of: str | None, depth: int) -> tuple[str | None, int]:
    """Follow strings and brackets to the end of a line; give the open string's end mark and the bracket depth."""
    at = 0
    while at < len(line):
        if rest_of is not None:
            if rest_of[0] == '"' and line[at] == "\\":
                at += 2
            elif line.startswith(rest_of, at):
                at += len(rest_of)
                rest_of = None
            else:
                at += 1
            continue
        sign = line[at]
        if sign == "#":
            break
        if sign in "\"'":
            rest_of = sign * 3 if line.startswith(sign * 3, at) else sign
            at += len(rest_of)
            continue
        depth += (sign in OPENERS) - (sign in CLOSERS)
        at += 1
    # a one-line string cannot run on; the real reader has made sure of that
    return (rest_of if rest_of is not None and len(rest_of) == 3 else None), depth
