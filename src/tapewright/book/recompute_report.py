"""What came out differently when old evidence was measured again: as a document and as text."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from tapewright.book.in_words import in_a_sentence
from tapewright.book.recompute import Rejudged
from tapewright.book.what_changed import FigureChange, VerdictChange

FIGURES_SHOWN, KEY_SHOWN = 8, 12


def recompute_document(found: Sequence[Rejudged], *, written: bool) -> dict[str, Any]:
    """Return `tapewright/recompute/1`."""
    return {
        "format": "tapewright/recompute/1",
        "written": written,
        "counts": {state: sum(each.state == state for each in found) for state in ("same", "changed", "cannot")},
        "evidence": [_one(each) for each in found],
    }


def _one(each: Rejudged) -> dict[str, Any]:
    return {
        "machine": each.machine.name,
        "key": each.old.key,
        "number": each.old.number,
        "sort": each.old.new.body["sort"],
        "phase": each.old.new.body.get("phase"),
        "state": each.state,
        "before": in_a_sentence(each.before),
        "after": None if each.after is None else in_a_sentence(each.after),
        "verdicts": [asdict(change) for change in each.verdicts],
        "figures": [asdict(change) for change in each.figures],
        "new_line": each.written.key if each.written else None,
        "why": each.why,
    }


def recompute_text(found: Sequence[Rejudged], *, written: bool) -> str:
    """Tell a person; what stays the same is only counted."""
    if not found:
        return "There is no evidence with its raw file and its settings to measure again."
    told = [line for each in found if each.state != "same" for line in _told(each)]
    changed, cannot = (sum(each.state == state for each in found) for state in ("changed", "cannot"))
    same = len(found) - changed - cannot
    ending = f"{len(found)} measured again: {same} the same, {changed} changed{f', {cannot} cannot' if cannot else ''}"
    return "\n".join([*told, ending + ("." if written or not changed else "; nothing was written (--dry-run).")])


def _told(each: Rejudged) -> list[str]:
    body = each.old.new.body
    lines = [f"{each.machine.name}, line {each.old.number}, {body['sort']} {body.get('phase', '')}"]
    if each.after is None:
        return [*lines, f"  cannot be measured again: {each.why}", ""]
    lines += [f"  was: {in_a_sentence(each.before)}", f"  is:  {in_a_sentence(each.after)}"]
    lines += [f"  {_verdict(change)}" for change in each.verdicts]
    lines += [f"  {_figure(change)}" for change in each.figures[:FIGURES_SHOWN]]
    if len(each.figures) > FIGURES_SHOWN:
        lines.append(f"  and {len(each.figures) - FIGURES_SHOWN} more figures (--json shows all)")
    if each.written:
        lines.append(f"  new line {each.written.number}: {each.written.key[:KEY_SHOWN]}")
    return [*lines, ""]


def _verdict(change: VerdictChange) -> str:
    why = f" ({change.why})" if change.why else ""
    return f"{change.check}: {change.before or 'not judged'} > {change.after or 'not judged'}{why}"


def _figure(change: FigureChange) -> str:
    before, after = ("none" if v is None else f"{v:.6g}" for v in (change.before, change.after))
    doubt = "" if change.u is None else f" ± {2 * change.u:.2g}"
    return f"{change.path}: {before} > {after}{doubt} {change.unit}".rstrip()
