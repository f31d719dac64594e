"""What documents of one event say together: line against tape tells which side the fault is on."""

from collections.abc import Mapping, Sequence
from typing import Any

from tapewright.core.diagnosis.evidence import Answer, no, yes
from tapewright.core.diagnosis.machine_model import Model
from tapewright.core.diagnosis.measured.documents import ERRORS, KINDS, answers_from
from tapewright.core.diagnosis.measured.fields import at, number

#: What a swept receiver says goes before what is reckoned from the signal for a receiver without a fault of its own.
SWEPT, SWEPT_KIND, RECKONED_KIND = "margin-narrow", "margin", "line"
#: Fewer characters than this prove nothing right.
ENOUGH = 30


def answers_from_all(documents: Sequence[Mapping[str, Any]], model: Model) -> list[Answer]:
    """Give what each document says, and what line and tape of one event say together."""
    by_kind = [(KINDS[str(document["format"])], answers_from(document, model)) for document in documents]
    swept = any(kind == SWEPT_KIND and answer.finding == SWEPT for kind, found in by_kind for answer in found)
    out = [answer for kind, found in by_kind for answer in found
           if not (swept and kind == RECKONED_KIND and answer.finding == SWEPT)]  # fmt: skip
    wrong = {kind: _wrong(documents, kind) for kind in ERRORS}
    line, tape = wrong["line"], wrong["tape"]
    if line is None or tape is None:
        return out
    how = f"line {line:g} wrong, tape {tape:g} wrong"
    if line == 0 and tape > 0:
        out += [yes("line-right-tape-wrong", how), no("all-outputs-wrong-alike", how)]
    elif (line > 0) == (tape > 0):
        out += [no("line-right-tape-wrong", how)]
    return [answer for answer in out if answer.finding in model.findings]


def _wrong(documents: Sequence[Mapping[str, Any]], kind: str) -> float | None:
    for document in documents:
        if KINDS.get(str(document.get("format"))) == kind:
            errors = at(document, ERRORS[kind])
            sent = number(errors.get("sent")) if isinstance(errors, Mapping) else None
            if sent is not None and sent >= ENOUGH and isinstance(errors, Mapping):
                return number(errors.get("wrong"))
    return None
