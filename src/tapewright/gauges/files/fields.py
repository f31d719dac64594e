"""Take typed fields out of a table, and note one fault for each that is not as it should be."""

import csv
import difflib
import io
import math
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from tapewright.errors import InputError, InputFaultsError
from tapewright.gauges.files.toml_lines import Path, TomlLines, index_lines

Table = Mapping[str, Any]


@dataclass(slots=True)
class Document:
    """One TOML file while it is read: its name, its content, the places of its keys, and the faults so far."""

    source: str
    content: dict[str, Any]
    text: str = ""
    known_lines: TomlLines | None = None
    faults: list[tuple[int, InputError]] = field(default_factory=list)

    @property
    def lines(self) -> TomlLines:
        """The places of its keys; looked for only when somebody asks, which is when there is a fault."""
        if self.known_lines is None:
            self.known_lines = index_lines(self.text)
        return self.known_lines

    def fault(self, path: Path, *, expected: str, found: str, do: str = "") -> None:
        """Note a fault at a key."""
        line = self.lines.line_of(path)
        place = f"line {line}, key {_written(path)}" if path else "line 1"
        self.faults.append((line, InputError(self.source, place=place, expected=expected, found=found, do=do)))

    def finish(self) -> None:
        """Raise all faults together, in the order of the file, if there are any."""
        if self.faults:
            raise InputFaultsError([error for _, error in sorted(self.faults, key=lambda pair: pair[0])])

    def fields(self, table: Table, path: Path = ()) -> "Fields":
        """Return a reader of the fields of one table."""
        return Fields(self, table, path)

    def tables(self, key: str, *, required: bool = True) -> "list[Fields]":
        """Return a reader for each table of a top-level array of tables."""
        value = self.content.get(key, [])
        if not isinstance(value, list) or not all(isinstance(t, dict) for t in value):
            self.fault((key,), expected=f"tables, each begun with [[{key}]]", found=shown(value))
            return []
        if required and not value:
            self.fault((), expected=f"at least one [[{key}]]", found="none")
        return [self.fields(t, (key, n)) for n, t in enumerate(value)]


def decoded(source: str, data: bytes) -> str:
    """Return the text of a file.

    Raises:
        InputError: when it is not UTF-8, with the place of the first byte that is not.
    """
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        found = f"byte 0x{data[error.start]:02x}"
        raise InputError(
            source, place=f"byte {error.start}", expected="text in UTF-8", found=found, do="Save the file as UTF-8."
        ) from error


def rows_of(source: str, data: bytes) -> tuple[list[list[str]], str]:
    """Split a CSV or TSV in rows of trimmed cells; give them with the delimiter, which the head row shows.

    Raises:
        InputError: when it is not text, or not a table.
    """
    text = decoded(source, data)
    delimiter = max("\t;,", key=(text.splitlines() or [""])[0].count)
    try:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        return [[cell.strip() for cell in row] for row in rows], delimiter
    except csv.Error as error:
        raise InputError(source, expected="rows of cells", found=str(error)) from error


def cell_number(cell: str, delimiter: str) -> float | str:
    """Return the number in a cell, with a decimal comma where the comma does not part cells; else the cell itself."""
    try:
        return float(cell.replace(",", ".") if delimiter != "," else cell)
    except ValueError:
        return cell


def read_document(source: str, data: bytes) -> Document:
    """Parse a TOML file.

    Raises:
        InputError: when it is not UTF-8 or not TOML, with line and column.
    """
    text = decoded(source, data).replace("\r\n", "\n")
    try:
        content = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        said = str(error) or type(error).__name__
        what, _, where = said.partition(" (at ")
        place = where.rstrip(")") or "somewhere"
        raise InputError(source, place=place, expected="TOML", found=what[:1].lower() + what[1:]) from error
    return Document(source, content, text)


@dataclass(slots=True)
class Fields:
    """The fields of one table. Each method takes one key; `finish` complains of keys nobody asked for."""

    document: Document
    table: Table
    path: Path
    _asked: set[str] = field(default_factory=set)

    def take(self, key: str) -> Any:
        """Return the raw value of a key, None when absent."""
        self._asked.add(key)
        return self.table.get(key)

    def fault(self, key: str, *, expected: str, found: str, do: str = "") -> None:
        """Note a fault at a key of this table, at the table itself when the key is absent."""
        self.document.fault((*self.path, key), expected=expected, found=found, do=do)

    def text(self, key: str, *, required: bool = False) -> str:
        """Take a text; empty when absent."""
        value = self.take(key)
        if value is None and not required:
            return ""
        if not isinstance(value, str) or (required and not value.strip()):
            self.fault(key, expected="a text", found=shown(value))
            return ""
        return value

    def number(self, key: str, *, least: float = -math.inf, required: bool = False) -> float | None:
        """Take a finite number not below `least`; None when absent."""
        value = self.take(key)
        if value is None and not required:
            return None
        if not is_number(value) or value < least:
            floor = "" if least == -math.inf else f" not below {least:g}"
            self.fault(key, expected=f"a number{floor}", found=shown(value))
            return None
        return float(value)

    def flag(self, key: str) -> bool | None:
        """Take true or false; None when absent."""
        value = self.take(key)
        if value is not None and not isinstance(value, bool):
            self.fault(key, expected="true or false", found=shown(value))
            return None
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Take a list of texts, or one text as a list of one."""
        value = self.take(key)
        if value is None:
            return ()
        if isinstance(value, str):
            value = [value]
        if not isinstance(value, list) or not all(isinstance(v, str) and v.strip() for v in value):
            self.fault(key, expected='a list of texts, for example ["a", "b"]', found=shown(value))
            return ()
        return tuple(value)

    def numbers(self, key: str) -> tuple[float, ...] | None:
        """Take a list of finite numbers; None when absent."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, list) or not value or not all(is_number(v) for v in value):
            self.fault(key, expected="a list of numbers", found=shown(value))
            return None
        return tuple(float(v) for v in value)

    def choice(self, key: str, choices: Iterable[str], *, required: bool = False) -> str:
        """Take one of some words; empty when absent or not one of them."""
        allowed = list(choices)
        value = self.take(key)
        if value is None and not required:
            return ""
        if not isinstance(value, str) or value not in allowed:
            self.fault(key, expected=f"one of {', '.join(allowed)}", found=shown(value), do=_perhaps(value, allowed))
            return ""
        return value

    def inner(self, key: str) -> "Fields | None":
        """Take a table within this one; None when absent."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.fault(key, expected="a table, for example { low = 0.2, high = 0.3 }", found=shown(value))
            return None
        return self.document.fields(value, (*self.path, key))

    def finish(self) -> None:
        """Complain of every key nobody asked for."""
        for key in self.table:
            if key not in self._asked:
                asked = sorted(self._asked)
                self.fault(
                    key,
                    expected="a key of this table",
                    found=f"{key!r}, which means nothing here",
                    do=_perhaps(key, asked) or f"It may hold: {', '.join(asked)}.",
                )


def is_number(value: Any) -> bool:
    """Return whether a value is a finite number (true and false are not)."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= 1e300


def shown(value: Any) -> str:
    """Write what was found, shortened."""
    if value is None:
        return "nothing"
    text = {True: "true", False: "false"}[value] if isinstance(value, bool) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _perhaps(value: Any, allowed: list[str]) -> str:
    near = difflib.get_close_matches(str(value), allowed, n=1)
    return f"Perhaps {near[0]!r} is meant." if near else ""


def _written(path: Path) -> str:
    """Write a path as requirement[2].test."""
    written = ""
    for step in path:
        written += f"[{step}]" if isinstance(step, int) else f".{step}" if written else step
    return repr(written)
