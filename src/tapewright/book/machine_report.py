"""What the book says of machines: as JSON documents and as text."""

import json
from collections.abc import Mapping, Sequence
from textwrap import fill
from typing import Any

from tapewright.book.bodies import FIELDS
from tapewright.book.chains import DOES_NOT_MATCH, NOT_KNOWN
from tapewright.book.entry import Entry, MachineOnShelf
from tapewright.book.keys import known_benches
from tapewright.book.kinds import SORTS
from tapewright.book.look_at_machine import Overview
from tapewright.book.signing import signature_is_good
from tapewright.book.timeline import TimelineLine
from tapewright.gauges.cautions import ASSEMBLING

#: sorts of evidence that every machine should have
EXPECTED = ("line", "tape", "coil", "gauge", "observation", "comparison")
KEY_SHOWN = 12
LONGEST_SHOWN = 400


def shelf_document(machines: Sequence[MachineOnShelf]) -> dict[str, Any]:
    """Return `tapewright/machines/1`."""
    return {"format": "tapewright/machines/1", "machines": [_on_shelf(machine) for machine in machines]}


def shelf_text(machines: Sequence[MachineOnShelf]) -> str:
    """List machines for a person."""
    if not machines:
        return "No machine yet: `tapewright machine add NAME` begins one."
    width = max(len(machine.name) for machine in machines)
    return "\n".join(
        f"{m.name:{width}s}  {m.entries:6d} lines, last {m.last_at:%Y-%m-%d}{'  ' if m.model else ''}{m.model}"
        for m in machines
    )


def signed_words(entry: Entry) -> str:
    """Say by which bench a line is signed, in the words that import and check use."""
    if entry.link is None:
        return f"{NOT_KNOWN}: it carries no signature"
    if not signature_is_good(entry.link.bench, entry.key, entry.signature):
        return DOES_NOT_MATCH
    name = known_benches().get(entry.link.bench)
    return f"signed by {name}" if name else f"{NOT_KNOWN} (key {entry.link.bench[:KEY_SHOWN]})"


def entry_document(entry: Entry) -> dict[str, Any]:
    """Return one line of the book, whole: `tapewright/entry/1`."""
    new = entry.new
    return {
        "format": "tapewright/entry/1",
        "number": entry.number,
        "key": entry.key,
        "at": entry.at.isoformat(),
        "program": entry.program,
        "machine": new.machine,
        "kind": new.kind,
        "by": new.by,
        "body": new.body,
        "files": list(new.files),
        "rests_on": list(new.rests_on),
        "replaces": new.replaces,
        "reason": new.reason or None,
        "bench": entry.link.bench if entry.link else None,
        "signature": entry.signature or None,
        "signed": signed_words(entry),
    }


def line_document(line: TimelineLine) -> dict[str, Any]:
    """Return one line of the book in short."""
    return {
        "number": line.number,
        "key": line.key,
        "kind": line.kind,
        "sort": line.sort,
        "at": line.at.isoformat(),
        "by": line.by,
        "says": line.says,
        "withdrawn": line.withdrawn or None,
    }


def line_text(line: TimelineLine) -> str:
    """Return one line of the book for a person."""
    by = f"  ({line.by})" if line.by else ""
    gone = f"  [{line.withdrawn}]" if line.withdrawn else ""
    return f"{line.at:%Y-%m-%d %H:%M}  {line.key[:KEY_SHOWN]}  {line.kind:16s}  {line.says}{by}{gone}"


def overview_document(overview: Overview) -> dict[str, Any]:
    """Return `tapewright/machine/1`."""
    return {
        "format": "tapewright/machine/1",
        "machine": _on_shelf(overview.machine),
        "identity": overview.identity.new.body,
        "newest": {sort: entry_document(entry) for sort, entry in overview.newest.items()},
        "owed": [entry_document(entry) for entry in overview.owed],
        "counts": dict(overview.counts),
        "lines": [line_document(line) for line in overview.lines],
    }


def overview_text(overview: Overview) -> str:
    """Show a machine to a person."""
    machine, identity = overview.machine, overview.identity.new.body
    about = ", ".join(str(identity[field]) for field in ("model", "serial", "alphabet") if identity.get(field))
    speed = f"{identity['nominal_baud']:g} baud" if "nominal_baud" in identity else ""
    lines = [f"{machine.name}: {', '.join(part for part in (about, speed) if part) or 'no model said'}"]
    lines += ["", "Newest evidence:", *(_newest(overview, sort) for sort in _told(overview))]
    lines += ["", "Still to be checked again:" if overview.owed else "Nothing is owed a recheck."]
    lines += [f"  {entry.key[:KEY_SHOWN]}  {entry.new.body['what']}" for entry in overview.owed]
    lines += ["", f"The last of {machine.entries} lines:", *(f"  {line_text(line)}" for line in overview.lines)]
    return "\n".join(lines)


def _told(overview: Overview) -> list[str]:
    """Return the sorts to tell of: those that every machine should have, and of the rest what is there."""
    return [sort for sort in SORTS if sort in EXPECTED or sort in overview.newest]


def _newest(overview: Overview, sort: str) -> str:
    entry = overview.newest.get(sort)
    if entry is None:
        return f"  {sort:12s} none yet"
    body = entry.new.body
    return f"  {sort:12s} {entry.at:%Y-%m-%d}, {body.get('phase', 'phase not said')}: {body.get('says', 'no words')}"


def _on_shelf(machine: MachineOnShelf) -> dict[str, Any]:
    return {
        "key": machine.key,
        "name": machine.name,
        "model": machine.model,
        "entries": machine.entries,
        "last_at": machine.last_at.isoformat(),
    }


def history_document(machine: MachineOnShelf, lines: Sequence[TimelineLine], limit: int) -> dict[str, Any]:
    """Return `tapewright/history/1`; "before" turns the page, null on the last one."""
    return {
        "format": "tapewright/history/1",
        "machine": _on_shelf(machine),
        "lines": [line_document(line) for line in lines],
        "before": lines[-1].number if len(lines) == limit and lines[-1].number > 1 else None,
    }


def history_text(lines: Sequence[TimelineLine], limit: int) -> str:
    """List lines for a person."""
    more = [f"Older lines: --before {lines[-1].number}"] if len(lines) == limit and lines[-1].number > 1 else []
    return "\n".join([*(line_text(line) for line in lines), *more]) or "No such lines."


def entry_text(entry: Entry) -> str:
    """Show one line whole to a person."""
    new = entry.new
    lines = [f"Line {entry.number}, {new.kind}, {entry.at:%Y-%m-%d %H:%M:%S} UTC{f', {new.by}' if new.by else ''}"]
    told = [field.name for field in FIELDS[new.kind] if field.name in new.body]
    lines += [f"  {name}: {_shown(new.body[name])}" for name in dict.fromkeys([*told, *new.body])]
    lines += [f"  rests on {key}" for key in new.rests_on] + (
        [f"  withdraws {new.replaces}, because {new.reason or '(no reason on record)'}"] if new.replaces else []
    )
    return "\n".join(
        [*lines, f"  key {entry.key}", f"  {signed_words(entry)}", f"  written by Tapewright {entry.program}"]
    )


def assembly_document(machine: MachineOnShelf, steps: Sequence[Entry]) -> dict[str, Any]:
    """Return `tapewright/assembly/1`: the steps of taking apart, the last first."""
    return {
        "format": "tapewright/assembly/1",
        "machine": _on_shelf(machine),
        "cautions": list(ASSEMBLING) if steps else [],
        "steps": [{"step": n, **entry.new.body, "key": entry.key} for n, entry in enumerate(steps, start=1)],
    }


def assembly_text(machine: MachineOnShelf, steps: Sequence[Entry]) -> str:
    """Return the assembly list for the bench."""
    if not steps:
        return f"Nothing of {machine.name} is on record as taken apart."
    lines = [line for n, entry in enumerate(steps, start=1) for line in _step(n, entry.new.body)]
    return "\n".join([*(fill(f"! {c}.", 100, subsequent_indent="  ") for c in ASSEMBLING), *lines])


def _step(number: int, body: Mapping[str, Any]) -> list[str]:
    bag = f"  (bag {body['bag']})" if body.get("bag") else ""
    lines = [f"{number:3d}. {body['part']}{bag}"]
    told = [(field, body.get(field)) for field in ("mind", "way_round", "shims", "springs", "fasteners", "note")]
    lines += [f"       {field.replace('_', ' ')}: {value}" for field, value in told if value]
    photos = ", ".join(source["name"] for source in body.get("sources", ()))
    return [*lines, f"       photos: {photos}"] if photos else lines


def _shown(value: Any) -> str:
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    if len(text) <= LONGEST_SHOWN:
        return text
    return f"{text[:LONGEST_SHOWN]}... ({len(text)} characters; --json shows all)"
