"""The proof as the document "tapewright/proof/1"."""

from typing import Any

from tapewright.furniture.json_values import measured
from tapewright.proof.document import (  # fmt: skip
    Answer,
    Compared,
    ErrorCount,
    LineFigures,
    ProofDocument,
    Said,
    Side,
    TapeFigures,
    UsedLine,
)
from tapewright.proof.plan_pages import plan_document

FORMAT = "tapewright/proof/1"


def proof_document(proof: ProofDocument) -> dict[str, Any]:
    """Return the whole document."""
    identity, page = proof.identity, proof.first_page
    return {
        "format": FORMAT,
        "machine": {"name": identity.name, "key": identity.key, "facts": dict(identity.facts),
                    "intake": dict(identity.intake)},
        "as_of": proof.as_of.isoformat(),
        "newest": proof.newest,
        "program": proof.program,
        "first_page": {
            "was_wrong": list(page.was_wrong), "does_now": list(page.does_now), "how_sure": list(page.how_sure),
            "not_shown": list(page.not_shown),
            "counts": {"within": page.within, "outside": page.outside, "not shown": page.unshown},
        },
        "phases": [{"sort": s, "phase": p, "said": w} for s, p, w in proof.phases],
        "compared": [_compared(c) for c in proof.compared],
        "work": [{"what": w.what, "before": w.before, "after": w.after, "why": w.why, "by": w.by,
                  "at": w.at.isoformat(), "line": w.line} for w in proof.work],
        "verdicts": [_verdict(a) for a in proof.answers],
        "line_figures": [_line(figures) for figures in proof.line],
        "tape_figures": [_tape(figures) for figures in proof.tape],
        "errors": [_errors(e) for e in proof.errors],
        "soaks": [{"line": s.line, "at": s.at.isoformat(), "characters": s.characters, "wrong": s.wrong,
                   "minutes": s.minutes, "note": s.note} for s in proof.soaks],
        "observations": [_said(s) for s in proof.observations],
        "records": [_said(s) for s in proof.records],
        "electrical_checks": [{"between": c.between, "reading": c.reading, "limit": c.limit, "verdict": c.verdict,
                               "instrument": c.instrument, "by": c.by, "at": c.at.isoformat(), "line": c.line}
                              for c in proof.dead_checks],
        "instruments": [{"name": i.name, "doubt": i.doubt, "used_for": i.used_for, "lines": list(i.lines)}
                        for i in proof.instruments],
        "plan": plan_document(proof.plan),
        "not_tested": [{"what": g.what, "why": g.why, "do": g.do} for g in proof.not_tested],
        "open_points": [{"kind": p.kind, "what": p.what, "why": p.why, "line": p.line} for p in proof.open_points],
        "cautions": [{"text": c.text, "by": c.by, "at": c.at.isoformat()} for c in proof.cautions],
        "trail": {"lines": [_used(line) for line in proof.trail.lines], "how": list(proof.trail.how),
                  "commands": list(proof.trail.commands)},
    }  # fmt: skip


def _said(said: Said) -> dict[str, Any]:
    return {"head": said.head, "text": said.text, "by": said.by, "at": said.at.isoformat(), "line": said.line}


def _verdict(answer: Answer) -> dict[str, Any]:
    return {
        "group": answer.group, "id": answer.id or None, "check": answer.check, "state": answer.state.value,
        "reading": answer.reading or None, "value": answer.value, "u": answer.u, "low": answer.low,
        "high": answer.high, "unit": answer.unit, "source": answer.source, "standing": answer.standing,
        "why": answer.why, "line": answer.line,
    }  # fmt: skip


def _compared(compared: Compared) -> dict[str, Any]:
    return {
        "group": compared.group, "what": compared.what, "found": _side(compared.found), "left": _side(compared.left),
        "change": compared.change,
    }  # fmt: skip


def _side(side: Side | None) -> dict[str, Any] | None:
    if side is None:
        return None
    return {"reading": side.reading, "state": side.state.value if side.state else None, "line": side.line}


def _line(figures: LineFigures) -> dict[str, Any]:
    return {
        "phase": figures.phase, "said": figures.said, "file": figures.file, "line": figures.line,
        "facts": [list(pair) for pair in figures.facts],
        "contacts": [
            {"contact": c.contact, "closing_late_ms": measured(c.closing), "opening_late_ms": measured(c.opening)}
            for c in figures.contacts
        ],
    }  # fmt: skip


def _tape(figures: TapeFigures) -> dict[str, Any]:
    return {
        "phase": figures.phase, "said": figures.said, "file": figures.file, "line": figures.line,
        "facts": [list(pair) for pair in figures.facts], "text": figures.text, "rows": len(figures.rows),
        "tracks": [{"track": t, "punched": punched, "partial": partial} for t, punched, partial in figures.tracks],
        "pitch_mm": measured(figures.pitch_mm),
    }  # fmt: skip


def _errors(count: ErrorCount) -> dict[str, Any]:
    return {
        "sort": count.sort, "wrong": count.wrong, "n": count.n, "rate_upper_95": count.upper_95,
        "fewer_than_one_in": count.one_in, "kinds": dict(count.kinds), "lines": list(count.lines),
    }  # fmt: skip


def _used(line: UsedLine) -> dict[str, Any]:
    return {
        "number": line.number, "key": line.key, "kind": line.kind, "at": line.at.isoformat(), "program": line.program,
        "files": [{"name": name or None, "sha256": sha256} for name, sha256 in line.files],
    }  # fmt: skip
