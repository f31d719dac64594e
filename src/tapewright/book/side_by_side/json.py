"""Two machines side by side as the document tapewright/side-by-side/1."""

import math
from typing import Any

from tapewright.book.side_by_side.compare_machines import Compared, Side
from tapewright.book.side_by_side.difference import Row
from tapewright.book.side_by_side.figure import Figure
from tapewright.furniture.json_values import measured

FORMAT = "tapewright/side-by-side/1"


def side_by_side_document(compared: Compared) -> dict[str, Any]:
    """Return the document."""
    result = compared.result
    return {
        "format": FORMAT,
        "a": _side(compared.a),
        "b": _side(compared.b),
        "compared": result.compared,
        "differ": result.differ,
        "by_chance": result.by_chance,
        "rows": [_row(row) for row in result.rows],
        "mind": list(compared.mind),
    }


def _side(side: Side) -> dict[str, Any]:
    return {
        "machine": side.machine.name,
        "key": side.machine.key,
        "phase": side.moment.phase,
        "until": side.moment.until.isoformat() if side.moment.until else None,
        "evidence": [
            {
                "sort": sort,
                "entry": entry.key,
                "at": entry.at.isoformat(),
                "phase": entry.new.body.get("phase"),
                "instrument": entry.new.body.get("instrument"),
                "older_not_used": side.passed_over[sort],
            }
            for sort, entry in side.evidence.items()
        ],
    }


def _row(row: Row) -> dict[str, Any]:
    return {
        "group": row.figure.group.value,
        "what": row.figure.what,
        "a": _shown(row.a),
        "b": _shown(row.b),
        "difference": measured(row.difference),
        "in_u": row.in_u,
        "state": row.state.value,
        "sure": row.sure,
        "shared": row.shared or None,
        "why": row.why or None,
    }


def _shown(figure: Figure | None) -> dict[str, Any] | None:
    if figure is None or figure.empty:
        return None
    ends = [end if math.isfinite(end) else None for end in figure.interval] if figure.interval else None
    note = figure.reading.how if figure.reading.value is not None else ""
    return {"number": measured(figure.reading), "interval": ends, "yes": figure.yes, "note": note or None}
