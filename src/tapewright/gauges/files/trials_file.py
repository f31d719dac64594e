"""Read a trials file: knobs, readings with their limits, and every trial so far, TOML or CSV.

CSV, one column a knob or reading; the rows before the first trial say what each column is:

    trial,       low screw,  high screw,  low travel,    high travel
    role,        knob,       knob,        reading,       reading
    unit,        turn,       turn,        mm,            mm
    step_limit,  0.5,        0.5,         ,
    play,        0.02,       0.02,        ,
    low,         ,           ,            0.20,          0.60
    high,        ,           ,            0.28,          0.70
    u,           ,           ,            0.01,          0.01
    1,           0.0,        0.0,         0.40..0.42,    0.55
    2,           0.25,       0.0,         0.30..0.32,    0.57 +- 0.01
"""

import math
import re
from dataclasses import replace
from typing import Any

from tapewright.errors import InputError
from tapewright.gauges.files.fields import Document, Fields, cell_number, is_number, read_document, rows_of, shown
from tapewright.gauges.files.sheet_file import read_source
from tapewright.gauges.files.toml_lines import TomlLines
from tapewright.gauges.gauge import GAUGES, same_family
from tapewright.gauges.requirement import Sheet
from tapewright.gauges.trim.from_sheet import in_unit, target_of, with_gauge
from tapewright.gauges.trim.problem import OWN_LIMITS, Expectation, Knob, Problem, Seen, Target, Trial

MOST_KNOBS, MOST_READINGS, MOST_TRIALS = 12, 40, 200
HEAD_ROWS = ("role", "unit", "requirement", "gauge", "step_limit", "play", "low", "high", "u", "lock_shift")
TEXT_ROWS = ("unit", "requirement", "gauge")
INTERVAL = re.compile(r"^\s*(.*?)\s*\.\.\s*(.*?)\s*$")
WITH_DOUBT = re.compile(r"^\s*(\S+)\s*(?:±|\+-|\+/-)\s*(\S+)\s*$")


def read_trials(source: str, data: bytes, sheet: Sheet | None = None) -> Problem:
    """Read a trials file; CSV when the name ends so, else TOML. Readings that name a requirement get its limits.

    Raises:
        InputError: when the file is neither.
        InputFaultsError: with every fault of it.
    """
    is_table = source.lower().endswith((".csv", ".tsv"))
    document = _read_table(source, data) if is_table else read_document(source, data)
    top = document.fields(document.content)
    for key in ("knobs", "readings", "trials", "expect"):
        top.take(key)
    for free in ("machine", "note"):
        top.text(free)
    top.finish()
    knobs = _named(document, "knobs", [_knob(f) for f in document.tables("knobs")], MOST_KNOBS)
    targets = _named(document, "readings", [_target(f, sheet) for f in document.tables("readings")], MOST_READINGS)
    trials = _trials(document, knobs, targets)
    expectations = tuple(e for f in document.tables("expect", required=False) if (e := _expectation(f, knobs, targets)))
    document.finish()
    return Problem(tuple(knobs), tuple(targets), tuple(trials), expectations)


def _knob(fields: Fields) -> Knob:
    knob = Knob(
        fields.text("name", required=True),
        fields.text("unit") or "turn",
        _positive(fields, "step_limit"),
        fields.number("play", least=0) or 0.0,
        fields.number("low"),
        fields.number("high"),
    )
    fields.text("note")
    if knob.low is not None and knob.high is not None and knob.low >= knob.high:
        fields.fault("low", expected=f"an end below the other one, {knob.high:g}", found=f"{knob.low:g}")
    fields.finish()
    return knob


def _target(fields: Fields, sheet: Sheet | None) -> Target:
    name, gauge = fields.text("name", required=True), fields.choice("gauge", GAUGES)
    required = _required(fields, name, sheet)
    low, high, unit = fields.number("low"), fields.number("high"), fields.text("unit")
    if required is not None:
        own = low is not None or high is not None
        if unit and same_family(unit, required.unit):
            required = in_unit(required, unit)
        elif unit and unit != required.unit:
            fields.fault("unit", expected=f"a unit like the requirement's, {required.unit}", found=unit)
        low, high = (low, high) if own else (required.low, required.high)
    source = read_source(fields.inner("source"), OWN_LIMITS) or OWN_LIMITS
    u = _positive(fields, "u")
    target = Target(name, unit or (required.unit if required else ""), low, high, u,
                    fields.number("lock_shift", least=0) or 0.0, source)  # fmt: skip
    if required is not None:
        kept = source if own else required.source
        doubt, said = (u, "") if u or gauge else (required.u, required.assumed)
        target = replace(target, source=kept, cautions=required.cautions, u=doubt, assumed=said)
    target = with_gauge(target, gauge)
    fields.text("note")
    if target.low is None and target.high is None and not {"low", "high", "requirement"} & set(fields.table):
        fields.fault("low", expected="a limit: low, high or both", found="neither")
    if target.low is not None and target.high is not None and target.low >= target.high:
        fields.fault("low", expected=f"a low end below the high end, {target.high:g}", found=f"{target.low:g}")
    fields.finish()
    return target


def _required(fields: Fields, name: str, sheet: Sheet | None) -> Target | None:
    """Return what the sheet wants of the reading; None when it names no requirement."""
    id_ = fields.text("requirement")
    if not id_:
        return None
    if sheet is None:
        fields.fault("requirement", expected="a sheet to take the limits from", found="none",
                     do="Give it with --sheet SHEET, or write the limits here.")  # fmt: skip
        return None
    found = next((r for r in sheet.requirements if r.id == id_), None)
    if found is None or found.test.low is found.test.high is None:
        having = ", ".join(r.id for r in sheet.requirements if r.test.low is not None or r.test.high is not None)
        fields.fault("requirement", expected=f"one with limits in figures: {having}", found=repr(id_))
        return None
    return target_of(found, name)


def _positive(fields: Fields, key: str) -> float | None:
    number = fields.number(key, least=0)
    if number == 0:
        fields.fault(key, expected="a number above zero", found="0")
        return None
    return number


def _named(document: Document, key: str, things: list[Any], most: int) -> list[Any]:
    """Check that names differ and that there are not too many."""
    seen: set[str] = set()
    for n, thing in enumerate(things):
        if thing.name in seen and thing.name:
            document.fault((key, n, "name"), expected="a name used once", found=repr(thing.name))
        seen.add(thing.name)
    if len(things) > most:
        document.fault((key, most), expected=f"at most {most} {key}", found=str(len(things)))
    return things


def _trials(document: Document, knobs: list[Knob], targets: list[Target]) -> list[Trial]:
    trials: list[Trial] = []
    before: dict[str, float] = {}
    tables = document.tables("trials")
    if len(tables) > MOST_TRIALS:
        document.fault(("trials", MOST_TRIALS), expected=f"at most {MOST_TRIALS} trials", found=str(len(tables)))
        tables = tables[:MOST_TRIALS]
    for fields in tables:
        before = _positions(fields, knobs, before)
        read = _read(fields, targets)
        for free in ("note", "undo", "at_time", "by"):
            fields.text(free)
        fields.flag("locked")
        fields.finish()
        trials.append(Trial(tuple(before.get(k.name, 0.0) for k in knobs), read))
    return trials


def _positions(fields: Fields, knobs: list[Knob], before: dict[str, float]) -> dict[str, float]:
    """Take where every knob stands; one that is not named stands where it stood."""
    at = fields.inner("at")
    if at is None:
        if not before or "at" not in fields.table:
            fields.fault(
                "at", expected='the position of every knob, for example at = { "low screw" = 0.0 }', found="nothing"
            )
        return before or {k.name: 0.0 for k in knobs}
    found = dict(before)
    for knob in knobs:
        position = at.number(knob.name)
        if position is not None:
            found[knob.name] = position
        elif knob.name not in found and knob.name not in at.table:
            at.fault(knob.name, expected=f"a position for {knob.name!r} in the first trial", found="nothing")
            found[knob.name] = 0.0
    at.finish()
    return found


def _read(fields: Fields, targets: list[Target]) -> tuple[Seen | None, ...]:
    read = fields.inner("read")
    if read is None:
        if "read" not in fields.table:
            fields.fault(
                "read",
                expected='what the gauges said, for example read = { "low travel" = [0.40, 0.42] }',
                found="nothing",
            )
        return (None,) * len(targets)
    seen = tuple(_seen(read, t.name) for t in targets)
    read.finish()
    return seen


def _seen(fields: Fields, name: str) -> Seen | None:
    """Take one reading: a number, {value, u}, {low, high} or [low, high]."""
    value = fields.take(name)
    if value is None:
        return None
    if is_number(value):
        return Seen(value=float(value))
    if isinstance(value, dict):
        return _seen_table(fields, name)
    if isinstance(value, list) and len(value) == 2 and all(_is_end(v) for v in value) and value[0] <= value[1]:
        return _interval(float(value[0]), float(value[1]))
    fields.fault(name, expected="a number, { value, u } or an interval [low, high]", found=shown(value))
    return None


def _is_end(value: Any) -> bool:
    """Return whether a value can end an interval: a number, or endless."""
    return is_number(value) or (isinstance(value, float) and math.isinf(value))


def _interval(low: float, high: float) -> Seen | None:
    if low == high:
        return Seen(value=low) if math.isfinite(low) else None
    ends = [end if math.isfinite(end) else None for end in (low, high)]
    return Seen(low=ends[0], high=ends[1]) if ends != [None, None] else None


def _seen_table(fields: Fields, name: str) -> Seen | None:
    inner = fields.inner(name)
    assert inner is not None
    value, u = inner.number("value"), inner.number("u", least=0)
    low, high = inner.number("low"), inner.number("high")
    inner.finish()
    if value is not None:
        return Seen(value=value, u=u)
    if low is not None and high is not None and low > high:
        fields.fault(name, expected="low not above high", found=f"{low:g} and {high:g}")
        return None
    if low is None and high is None:
        fields.fault(
            name, expected="a number, { value, u } or an interval [low, high]", found=shown(fields.table[name])
        )
        return None
    return _interval(-math.inf if low is None else low, math.inf if high is None else high)


def _expectation(fields: Fields, knobs: list[Knob], targets: list[Target]) -> Expectation | None:
    """Take what is expected of one sensitivity: value and u, or a screw's pitch times a lever's ratio."""
    knob = fields.choice("knob", [k.name for k in knobs], required=True)
    reading = fields.choice("reading", [t.name for t in targets], required=True)
    value, u = fields.number("value"), _positive(fields, "u")
    pitch, lever, percent = fields.number("pitch"), fields.number("lever"), _positive(fields, "u_percent")
    fields.text("note")
    fields.finish()
    if value is None and pitch is None:
        fields.fault("value", expected="value, or pitch (with lever, the ratio, when there is one)", found="neither")
        return None
    if value is None:
        assert pitch is not None
        value = pitch * (1.0 if lever is None else lever)
    if u is None and percent is None:
        fields.fault("u", expected="u, or u_percent: how far it can be trusted", found="neither")
        return None
    u = abs(value) * (percent or 0) / 100 if u is None else u
    if not knob or not reading or u <= 0:
        return None
    return Expectation([k.name for k in knobs].index(knob), [t.name for t in targets].index(reading), value, u)


def _read_table(source: str, data: bytes) -> Document:
    """Turn a CSV or TSV into the shape a TOML trials file has; rows stand in for lines."""
    rows, delimiter = rows_of(source, data)
    if not rows or rows[0][:1] != ["trial"]:
        raise InputError(
            source,
            place="row 1",
            expected="a head row that begins with trial, then one name a column",
            found=shown(delimiter.join(rows[0]) if rows else None),
        )
    head = {row[0].lower(): row[1:] for row in rows[1:] if row and row[0].lower() in HEAD_ROWS}
    if "role" not in head:
        raise InputError(
            source, place="row 2", expected="a row role, with knob or reading in each column", found="none"
        )
    lines = TomlLines()
    content: dict[str, list[dict[str, Any]]] = {"knobs": [], "readings": [], "trials": []}
    roles: dict[int, tuple[str, str]] = {}
    for n, name in enumerate(rows[0][1:]):
        role = head["role"][n].lower() if n < len(head["role"]) else ""
        key = {"knob": "knobs", "reading": "readings"}.get(role)
        if key is None:
            raise InputError(source, place=f"row role, column {n + 2}", expected="knob or reading", found=shown(role))
        table: dict[str, Any] = {"name": name}
        for word in HEAD_ROWS[1:]:
            cell = head.get(word, [])[n : n + 1]
            if cell and cell[0]:
                table[word] = cell[0] if word in TEXT_ROWS else cell_number(cell[0], delimiter)
        lines.lines[(key, len(content[key]))] = 1
        content[key].append(table)
        roles[n] = ({"knobs": "at", "readings": "read"}[key], name)
    for number, cells in enumerate(rows[1:], start=2):
        if not any(cells) or cells[0].lower() in HEAD_ROWS:
            continue
        trial: dict[str, Any] = {"at": {}, "read": {}}
        for n, text_ in enumerate(cells[1:]):
            if text_ and n in roles:
                part, name = roles[n]
                trial[part][name] = _cell(text_, delimiter)
        lines.lines[("trials", len(content["trials"]))] = number
        content["trials"].append(trial)
    return Document(source, content, known_lines=lines)


def _cell(cell: str, delimiter: str) -> Any:
    """Read a cell: a number, "0.40..0.42" (either end may be left out) or "0.57 +- 0.01"."""
    if match := INTERVAL.match(cell):
        low, high = match.groups()
        ends = {
            "low": cell_number(low, delimiter) if low else None,
            "high": cell_number(high, delimiter) if high else None,
        }
        return {k: v for k, v in ends.items() if v is not None}
    if match := WITH_DOUBT.match(cell):
        return {"value": cell_number(match[1], delimiter), "u": cell_number(match[2], delimiter)}
    return cell_number(cell, delimiter)
