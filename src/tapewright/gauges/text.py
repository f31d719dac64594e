"""A sheet check as JSON (the contract's document) and as text for the bench."""

from textwrap import fill
from typing import Any

from tapewright.furniture.json_values import judged, measured
from tapewright.furniture.writing import limit_text
from tapewright.gauges.document import Checked, SheetCheck
from tapewright.gauges.evidence import ByEye, Evidence, Interval
from tapewright.number import Reading, State

FORMAT = "tapewright/sheet/1"
WIDTH = 100
WORD = {State.WITHIN: "within", State.OUTSIDE: "outside", State.NOT_SHOWN: "not shown"}


def sheet_json(result: SheetCheck) -> dict[str, Any]:
    """Return the contract's document."""
    step = result.next
    return {
        "format": FORMAT,
        "machine": result.sheet.machine,
        "variant": result.sheet.variant or None,
        "requirements": [_requirement_json(c) for c in result.checked],
        "order": list(result.order.ids),
        "next": None
        if step is None
        else {
            "id": step.id,
            "why": step.why,
            "do": " ".join([*(f"{caution.rstrip('.')}." for caution in step.cautions), step.do]),
            "upsets": list(step.upsets),
            "together": list(step.together),
        },
        "recheck": {id_: list(ids) for id_, ids in result.order.recheck.items()},
        "recheck_open": [
            {"id": c.requirement.id, "because": list(c.recheck_because)} for c in result.checked if c.recheck_because
        ],
        "loops": [list(loop) for loop in result.order.loops],
    }


def _requirement_json(c: Checked) -> dict[str, Any]:
    r, finer = c.requirement, c.settle
    return {
        "id": r.id,
        "station": r.station,
        "stage": r.stage.value,
        "verdict": judged(c.verdict) if c.verdict is not None else _no_limit(c),
        "readings": [{"position": position or None, **_found_json(found)} for position, found in c.found.items()],
        "limits_in_force": "readjust" if c.touched and r.readjust else "test",
        "closed": c.closed,
        "accepted": c.accepted or None,
        "settle": None if finer is None else {"u_needed": finer.u_needed, "gauge": finer.gauge, "how": finer.how},
    }


def _no_limit(c: Checked) -> dict[str, Any]:
    r = c.requirement
    found = next((f for f in c.found.values() if isinstance(f, Reading)), None)
    return {
        "check": r.what,
        "state": State.NOT_SHOWN.value,
        "value": found.value if found else None,
        "u": found.u if found else None,
        "low": None,
        "high": None,
        "unit": r.unit,
        "source": str(r.source),
        "standing": r.source.standing.value,
        "why": "no numeric limit is known; " + ("recorded as found" if c.found else "not measured yet"),
    }


def _found_json(found: Evidence) -> dict[str, Any]:
    if isinstance(found, Reading):
        return {"number": measured(found), "interval": None, "by_eye": None}
    if isinstance(found, Interval):
        ends = [end if abs(end) < 1e300 else None for end in (found.low, found.high)]
        return {"number": None, "interval": ends, "by_eye": None}
    return {"number": None, "interval": None, "by_eye": found.yes}


def sheet_text(result: SheetCheck) -> str:
    """Return the report for the bench: each requirement in the order of the work, then what to do."""
    by_id = {c.requirement.id: c for c in result.checked}
    lines = [f"{result.sheet.machine}{f', {result.sheet.variant}' if result.sheet.variant else ''}", ""]
    width = max(len(id_) for id_ in result.order.ids)
    lines += [_line(by_id[id_], width) for id_ in result.order.ids]
    for loop in result.order.loops:
        lines += ["", f"A loop in the sheet: {' > '.join((*loop, loop[0]))}. Set these together, with trim."]
    if result.recheck:
        lines += [
            "",
            "Measure again: "
            + ", ".join(f"{id_} (after {', '.join(by_id[id_].recheck_because)})" for id_ in result.recheck),
        ]
    lines += ["", *_next_lines(result)]
    return "\n".join(lines)


def _line(c: Checked, width: int) -> str:
    reading = "; ".join(f"{p + ' ' if p else ''}{_spoken(f, c)}" for p, f in c.found.items()) or "no reading"
    if not c.found and not c.recheck_because and c.verdict is not None:
        return f"  {WORD[c.state]:<9}  {c.requirement.id:<{width}}  not measured yet  (limit {_limit(c)})"
    why = "" if c.state is State.WITHIN else f"  {_why(c)}"
    return f"  {WORD[c.state]:<9}  {c.requirement.id:<{width}}  {reading}  (limit {_limit(c)}){why}"


def _why(c: Checked) -> str:
    if c.verdict is None:
        return "no numeric limit known"
    accepted = f" Accepted: {c.accepted}." if c.accepted else ""
    return f"{c.verdict.why}.{accepted}" + (f" {c.settle.how}" if c.settle else "")


def _spoken(found: Evidence, c: Checked) -> str:
    unit = c.requirement.unit
    if isinstance(found, ByEye):
        return "yes" if found.yes else "no"
    if isinstance(found, Interval):
        if abs(found.low) > 1e300:
            return f"under {found.high:g} {unit}"
        return f"over {found.low:g} {unit}" if abs(found.high) > 1e300 else f"{found.low:g} to {found.high:g} {unit}"
    return str(found)


def _limit(c: Checked) -> str:
    if c.verdict is None:
        return "not known"
    limit = c.verdict.limit
    if limit.unit == "yes":
        return "yes"
    return f"{limit_text(limit)}; {limit.source.standing.value}"


def _next_lines(result: SheetCheck) -> list[str]:
    step = result.next
    if step is None:
        return ["Nothing is open: every requirement is shown within, recorded, or accepted as it is."]
    upsets = (
        f"If you change it, measure again: {', '.join(step.upsets)}."
        if step.upsets
        else "Changing it upsets nothing else."
    )
    return [
        f"Next: {step.id}",
        *(fill(f"! {caution}", WIDTH, initial_indent="  ", subsequent_indent="    ") for caution in step.cautions),
        *(fill(f"{word} {text}", WIDTH, initial_indent="  ", subsequent_indent="       ", break_on_hyphens=False)
          for word, text in (("Why:", step.why), ("Do: ", step.do))),
        fill(upsets, WIDTH, initial_indent="  ", subsequent_indent="    ", break_on_hyphens=False),
    ]  # fmt: skip
