"""A sheet that was checked, and trim's advice, as text for the bench."""

from textwrap import fill

from tapewright.furniture.writing import limit_text
from tapewright.gauges.checking import Checked, SheetCheck
from tapewright.gauges.document import Trim
from tapewright.gauges.journal import ByEye, Evidence, Interval
from tapewright.number import Limit, State

WIDTH, TRIM_WIDTH = 100, 110
HEADLINE = {"probe": "Probe", "move": "Move", "done": "Done", "cannot": "Cannot"}


def sheet_text(result: SheetCheck) -> str:
    """Return the report for the bench: each requirement in the order of the work, then what to do."""
    by_id = {c.requirement.id: c for c in result.checked}
    lines = [f"{result.sheet.machine}{f', {result.sheet.variant}' if result.sheet.variant else ''}", ""]
    ids = [id_ for id_ in result.order.ids if id_ in by_id]
    width = max(map(len, ids), default=0)
    lines += [_line(by_id[id_], width) for id_ in ids]
    for loop in (loop for loop in result.order.loops if by_id.keys() & set(loop)):
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
        return f"  {c.state.value:<9}  {c.requirement.id:<{width}}  not measured yet  (limit {_limit(c)})"
    why = "" if c.state is State.WITHIN else f"  {_why(c)}"
    return f"  {c.state.value:<9}  {c.requirement.id:<{width}}  {reading}  (limit {_limit(c)}){why}"


def _why(c: Checked) -> str:
    if c.verdict is None:
        return "no numeric limit known"
    accepted = f" Accepted: {c.accepted}." if c.accepted else ""
    return f"{c.verdict.why}.{accepted}" + (f" {c.ask}" if c.ask else f" {c.settle.how}" if c.settle else "")


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


def trim_text(advice: Trim) -> str:
    """Return the advice for the bench: what to turn, what it will read, how sure."""
    lines = [fill(f"! {c}.", TRIM_WIDTH, subsequent_indent="  ") for c in advice.cautions] if advice.move else []
    lines += [*([""] if lines else []), f"{HEADLINE[advice.state]}. {advice.why}", ""]
    units = advice.knob_units
    for knob, amount in advice.move.items():
        lines.append(f"  Turn {knob} by {amount:+g} {units[knob]}, from {advice.undo[knob]:g} to {advice.goal[knob]:g}")
    if advice.move:
        lines += ["", "  Then it should read"]
    else:
        lines.append("  As it stands")
    now = {v.limit.check: v for v in advice.now}
    width = max(len(name) for name in advice.predicted)
    for name, reading in advice.predicted.items():
        limit = now[name].limit
        state = "" if advice.move else f"  {now[name].state.value}"
        lines.append(f"    {name:<{width}}  {reading}  ({_ends(limit)}){state}")
    lines += ["", f"  Sure that all are then truly inside: {percent(advice.sure)}"]
    lines += ["", "  What a turn does, as known so far"]
    for name, knobs in advice.sensitivity.items():
        lines += [f"    {knob} on {name}: {slope}" for knob, slope in knobs.items()]
    if advice.move:
        back = ", ".join(f"{knob} to {advice.undo[knob]:g}" for knob in advice.move)
        lines += ["", f"  To undo: {back}"]
    return "\n".join(lines)


def _ends(limit: Limit) -> str:
    ends = " to ".join(f"{end:g}" for end in (limit.low, limit.high) if end is not None)
    return f"{'at least' if limit.high is None else 'at most' if limit.low is None else 'limit'} {ends}"


def percent(probability: float) -> str:
    """Write a probability; never as certain."""
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"
