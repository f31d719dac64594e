"""A comparison of sent and received as the contract's `errors`, the same for line and tape."""

from typing import Any

from tapewright.message import Comparison, ErrorKind, Judged
from tapewright.message.tally import Dependence, ElementTally, Loneliness

#: what `kinds` always holds, so that a reader need not ask whether a kind was looked for
ALL_KINDS = tuple(kind.value for kind in ErrorKind)


def errors(comparison: Comparison) -> dict[str, Any]:
    """Return the part `errors` of a line or tape document."""
    counts, rate = comparison.tally, comparison.rate
    found = {kind.value: n for kind, n in counts.kinds.items()}
    return {
        "sent": comparison.sent,
        "received": comparison.received,
        "wrong": counts.wrong,
        "rate": rate.rate,
        "rate_upper_95": rate.upper_95,
        "kinds": {kind: found.get(kind, 0) for kind in ALL_KINDS},
        "by_element": [_element(entry) for entry in counts.by_element],
        "by_sent": {code: _share(share) for code, share in counts.by_sent.items()},
        "by_previous": {code: _share(share) for code, share in counts.by_previous.items()},
        "lone_marks": _loneliness(counts.lone_marks),
        "lone_spaces": _loneliness(counts.lone_spaces),
        "read_as": [{"sent": a, "received": b, "times": n} for (a, b), n in counts.read_as.items()],
        "explanations": [{"cause": e.cause, "wrong": e.wrong} for e in comparison.explanations],
        "alignment": [_column(column) for column in comparison.columns],
        "alignment_proven": comparison.alignment.proven,
    }


def _element(entry: ElementTally) -> dict[str, Any]:
    return {
        "element": entry.element,
        "drop_mark": entry.dropped_marks,
        "marks": entry.marks,
        "drop_space": entry.dropped_spaces,
        "spaces": entry.spaces,
        "drop_mark_by_previous": _dependence(entry.mark_dependence),
        "drop_space_by_previous": _dependence(entry.space_dependence),
    }


def _dependence(found: Dependence | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {"after_mark": _share(found.after_mark), "after_space": _share(found.after_space), "p_value": found.p_value}


def _loneliness(found: Loneliness | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {"lone": _share(found.lone), "joined": _share(found.joined), "p_value": found.p_value}


def _share(wrong_of: tuple[int, int]) -> dict[str, int]:
    return {"wrong": wrong_of[0], "n": wrong_of[1]}


def _column(column: Judged) -> dict[str, Any]:
    best, others = (column.fits[0], column.fits[1:]) if column.fits else (None, ())
    return {
        "sent": column.pair.sent,
        "received": column.pair.received,
        "kind": best.kind.value if best else "right",
        "elements": list(best.elements) if best else [],
        "also": [fit.kind.value for fit in others],
    }
