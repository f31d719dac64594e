"""Read and write a journal of readings and changes, TOML or CSV, against the sheet it belongs to.

TOML, one table a line of the journal; CSV has the same keys as column heads, an empty cell for what does not apply:

    [[entry]]                                   id,value,u,low,high,leaves,eye,position,changed
    id = "clutch-gap"                           clutch-gap,,,0.20,0.22,,,,
    low = 0.20                                  end-play,0.05,0.01,,,,,,
    high = 0.22                                 stack,,,,,0.10+0.15,,,
                                                pins,,,,,,yes,pin 1,
"""

import difflib
import json
import math
from pathlib import Path
from typing import Any

from tapewright.errors import InputError
from tapewright.furniture.whole_file import write_whole
from tapewright.gauges.files.fields import Document, Fields, cell_number, read_document, rows_of, shown
from tapewright.gauges.files.toml_lines import TomlLines
from tapewright.gauges.gauge import GAUGES, UNITS, factor_between, is_length
from tapewright.gauges.journal import Entry, Journal
from tapewright.gauges.requirement import EYE_WILL_DO, YES_OR_NO, Requirement, Sheet

WORDS = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}
NUMBERS = ("value", "u", "low", "high")
FLAGS = ("eye", "warm", "powered", "locked")
COLUMNS = (
    "id",
    *NUMBERS,
    "unit",
    "leaves",
    *FLAGS,
    "position",
    "changed",
    "undo",
    "accepted",
    "instrument",
    "by",
    "at",
)


def read_journal(source: str, data: bytes, sheet: Sheet) -> Journal:
    """Read a journal; CSV when the name ends so, else TOML.

    Raises:
        InputError: when the file is neither.
        InputFaultsError: with every fault of the journal.
    """
    is_table = source.lower().endswith((".csv", ".tsv"))
    document = read_rows(source, data) if is_table else read_document(source, data)
    by_id = {r.id: r for r in sheet.requirements}
    top = document.fields(document.content)
    top.take("entry")
    top.text("machine")
    top.finish()
    entries = [_entry(fields, by_id) for fields in document.tables("entry", required=False)]
    document.finish()
    return tuple(e for e in entries if e is not None)


def read_rows(source: str, data: bytes) -> Document:
    """Turn a CSV or TSV into the same shape a TOML file has, every cell as typed as its column."""
    rows, delimiter = rows_of(source, data)
    names = rows[0] if rows else []
    if "id" not in names:
        raise InputError(
            source,
            place="row 1",
            expected=f"column heads, among them id ({', '.join(COLUMNS)})",
            found=shown(delimiter.join(names)),
        )
    places = TomlLines({("entry",): 1})
    entries: list[dict[str, Any]] = []
    for number, row in enumerate(rows[1:], start=2):
        cells = {n: c for n, c in zip(names, row, strict=False) if n and c}
        if cells:
            places.lines[("entry", len(entries))] = number
            entries.append({name: _cell(name, cell, delimiter) for name, cell in cells.items()})
    return Document(source, {"entry": entries}, known_lines=places)


def _cell(name: str, cell: str, delimiter: str) -> Any:
    """Return a cell its type; what does not fit stays text, and the field reader says so."""
    if name in FLAGS:
        return WORDS.get(cell.lower(), cell)
    if name in NUMBERS:
        return cell_number(cell, delimiter)
    if name == "leaves":
        return [cell_number(part, delimiter) for part in cell.split("+")]
    return cell


def _entry(fields: Fields, by_id: dict[str, Requirement]) -> Entry | None:
    id_ = fields.text("id", required=True)
    requirement = by_id.get(id_)
    if id_ and requirement is None:
        near = difflib.get_close_matches(id_, by_id, n=1)
        fields.fault(
            "id", expected="an id of the sheet", found=repr(id_), do=f"Perhaps {near[0]!r} is meant." if near else ""
        )
    low, high = _interval(fields)
    entry = Entry(
        id=id_,
        value=fields.number("value"),
        u=fields.number("u", least=0),
        unit=fields.choice("unit", UNITS),
        low=low,
        high=high,
        leaves=fields.numbers("leaves") or (),
        eye=fields.flag("eye"),
        position=fields.text("position"),
        changed=fields.text("changed"),
        undo=fields.text("undo"),
        accepted=fields.text("accepted"),
        warm=fields.flag("warm"),
        powered=fields.flag("powered"),
        locked=fields.flag("locked"),
        instrument=fields.choice("instrument", GAUGES),
    )
    for free in ("by", "at", "note"):
        fields.text(free)
    fields.finish()
    if requirement is None:
        return None
    _check_kind(fields, entry, requirement)
    _check_position(fields, entry, requirement)
    _check_unit(fields, entry, requirement)
    return entry


def _interval(fields: Fields) -> tuple[float | None, float | None]:
    """Take a go/no-go pair; one end alone leaves the other open."""
    low, high = fields.number("low"), fields.number("high")
    if low is None and high is None:
        return None, None
    low, high = -math.inf if low is None else low, math.inf if high is None else high
    if low > high:
        fields.fault(
            "low", expected=f"the gauge that goes, not above the one that does not ({high:g})", found=f"{low:g}"
        )
        return None, None
    return low, high


def _check_kind(fields: Fields, entry: Entry, requirement: Requirement) -> None:
    """One reading a line; yes or no where the sheet asks for it; a line that says nothing is a fault."""
    given = [
        n
        for n, there in (
            ("value", entry.value is not None),
            ("low/high", entry.low is not None),
            ("leaves", bool(entry.leaves)),
            ("eye", entry.eye is not None),
        )
        if there
    ]
    if len(given) > 1:
        fields.fault("id", expected="one reading a line", found=" and ".join(given))
    if not given and not entry.changed and not entry.accepted and entry.low is None and not _faulty(fields):
        fields.fault(
            "id", expected="a reading (value, low and high, leaves or eye), changed, or accepted", found="none of them"
        )
    if given and entry.eye is None and requirement.kind in YES_OR_NO:
        fields.fault("id", expected=f"eye = true or false for {requirement.id!r}", found=given[0])
    if entry.eye is not None and requirement.kind not in EYE_WILL_DO:
        fields.fault("eye", expected=f"a measured reading for {requirement.id!r}", found="yes or no by eye")


def _faulty(fields: Fields) -> bool:
    return any(key in fields.table for key in ("value", "low", "high", "leaves", "eye"))


def _check_position(fields: Fields, entry: Entry, requirement: Requirement) -> None:
    if not entry.is_reading:
        return
    allowed = requirement.positions or ("",)
    if entry.position not in allowed:
        expected = (
            f"one of the places {', '.join(requirement.positions)}"
            if requirement.positions
            else "no position: there is one place only"
        )
        fields.fault("position", expected=expected, found=shown(entry.position or None))


def _check_unit(fields: Fields, entry: Entry, requirement: Requirement) -> None:
    if entry.leaves and not is_length(requirement.unit):
        do = "Leaves measure a length; give `value`."
        fields.fault("leaves", expected=f"a reading in {requirement.unit}", found="a stack of leaves", do=do)
    gauge = GAUGES.get(entry.instrument)
    for key, unit in (("unit", entry.unit), ("instrument", gauge.unit if gauge else "")):
        if not unit:
            continue
        try:
            factor_between(unit, requirement.unit)
        except ValueError as error:
            fields.fault(
                key,
                expected=f"something that fits {requirement.unit}",
                found=shown(fields.table[key]),
                do=f"{error}.".capitalize(),
            )


def journal_toml(entries: Journal) -> str:
    """Return the entries as TOML tables, numbers with every digit they have."""
    return "\n".join(_table(entry) for entry in entries)


def _table(entry: Entry) -> str:
    lines = ["[[entry]]", f"id = {_text(entry.id)}"]
    for key in ("position", "unit", "instrument", "changed", "undo", "accepted"):
        if getattr(entry, key):
            lines.append(f"{key} = {_text(getattr(entry, key))}")
    for key in ("value", "u", "low", "high"):
        number = getattr(entry, key)
        if number is not None and math.isfinite(number):
            lines.append(f"{key} = {float(number)!r}")
    if entry.leaves:
        lines.append(f"leaves = [{', '.join(repr(float(leaf)) for leaf in entry.leaves)}]")
    for key in ("eye", "warm", "powered", "locked"):
        if getattr(entry, key) is not None:
            lines.append(f"{key} = {'true' if getattr(entry, key) else 'false'}")
    return "\n".join(lines) + "\n"


def _text(text: str) -> str:
    # a JSON string is a TOML basic string; only DEL has to be written differently
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def append_journal(path: Path, entries: Journal) -> None:
    """Add entries to a journal on disk, or begin one; the old file stays whole until the new one is."""
    before = path.read_text(encoding="utf-8") if path.exists() else ""
    gap = "" if not before or before.endswith("\n\n") else "\n" if before.endswith("\n") else "\n\n"
    write_whole(path, before + gap + journal_toml(entries))
