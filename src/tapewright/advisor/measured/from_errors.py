"""What the comparison of sent and received inside a document says: which characters came as which.

The kinds are those of `core/comparison`; here they only get the names of findings.
"""

from collections.abc import Mapping

from tapewright.advisor.evidence import Answer, cannot_say, no, yes
from tapewright.advisor.measured.fields import Document, at, number, tables

#: words of the comparison's explanations of a whole text -> findings
WHOLE = {
    "sampled one element late": ("reads-late",),
    "sampled one element early": ("reads-early",),
    "mark and space exchanged": ("complement",),
    "element order reversed": ("reversed-order",),
    "marks left over from the character before": ("or-with-previous",),
    "character late": ("one-character-behind",),
}
#: kinds of error -> findings
KINDS = {"loss": "character-missing", "repeat": "character-doubled", "OR with previous": "or-with-previous"}
#: Enough characters to call something absent; a share that makes one element stand out; hardly any, most.
ENOUGH, STANDS_OUT, MOST = 30, 0.8, 0.6
#: Chance below which dependence on the character before is no accident.
NO_ACCIDENT = 0.01


def answers_from_errors(document: Document, path: str, kind: str) -> list[Answer]:
    """Return the answers; nothing when the document holds no comparison."""
    errors = at(document, path)
    if not isinstance(errors, Mapping):
        return []
    sent, wrong = number(errors.get("sent")), _wrong(errors)
    if not sent or wrong is None:
        return []
    how = f"{kind}: {wrong:g} of {sent:g} characters wrong"
    if wrong == 0:
        return [no("wrong-on-line", how)] if kind == "line" and sent >= ENOUGH else []
    out = [yes("wrong-on-line", how)] if kind == "line" else []
    explained = _whole(errors, how)
    if any(answer.state == "present" for answer in explained):
        return [*out, *explained]
    return [*out, *explained, *_single(errors, wrong, sent, how)]


def _wrong(errors: Document) -> float | None:
    stated = number(errors.get("wrong"))
    kinds = errors.get("kinds")
    if stated is None and isinstance(kinds, Mapping):
        return sum(number(count) or 0.0 for count in kinds.values())
    return stated


def _whole(errors: Document, how: str) -> list[Answer]:
    """The best explanation of the whole text; when several explain equally well, none is sure."""
    causes = tables(errors, "explanations")
    if len(causes) < 2:
        return []
    best = number(causes[0].get("wrong"))
    equal = [str(c.get("cause")) for c in causes if number(c.get("wrong")) == best]
    names = {name for text in equal for words, names in WHOLE.items() if words in text for name in names}
    if len(equal) == 1:
        return [yes(name, f"{how}; {equal[0]}") for name in sorted(names)]
    return [cannot_say(name, f"{how}; {' or '.join(equal)}") for name in sorted(names)]


def _single(errors: Document, wrong: float, sent: float, how: str) -> list[Answer]:
    kinds = errors.get("kinds")
    counts = {key: number(value) or 0.0 for key, value in kinds.items()} if isinstance(kinds, Mapping) else {}
    out = [yes(name, f"{how}; {counts[kind]:g} times {kind}") for kind, name in KINDS.items()
           if counts.get(kind, 0) >= max(1.0, 0.1 * wrong)]  # fmt: skip
    elements = tables(errors, "by_element")
    out += _elements(elements, how)
    if wrong >= MOST * sent and sent >= 10:
        out.append(yes("many-errors-all-elements", how))
    if wrong / sent <= 0.01 and sent >= 10 * ENOUGH:
        out.append(yes("rare-errors", how))
    return out


def _elements(elements: list[Document], how: str) -> list[Answer]:
    drops = {int(n): number(e.get("drop_mark")) or 0.0 for e in elements if (n := number(e.get("element")))}
    gains = {int(n): number(e.get("drop_space")) or 0.0 for e in elements if (n := number(e.get("element")))}
    total = sum(drops.values()) + sum(gains.values())
    if total == 0:
        return []
    worst = max(drops, key=lambda n: drops[n] + gains[n])
    share = (drops[worst] + gains[worst]) / total
    if share < STANDS_OUT:
        lost, added = sum(drops.values()), sum(gains.values())
        name = "loses-marks" if lost >= STANDS_OUT * total else "adds-marks" if added >= STANDS_OUT * total else ""
        several = [yes(name, f"{how}; {lost:g} marks lost, {added:g} added")] if name else []
        return [*several, no("same-element-all-characters", how)]
    entry = next(e for e in elements if number(e.get("element")) == worst)
    return _one_element(entry, worst, drops[worst], gains[worst], how)


def _one_element(entry: Document, element: int, drops: float, gains: float, how: str) -> list[Answer]:
    place = f"element {element}"
    detail = f"{how}; {place}: {drops:g} marks lost, {gains:g} added"
    out = [yes("same-element-all-characters", detail, place)]
    marks, spaces = number(entry.get("marks")) or drops, number(entry.get("spaces")) or gains
    if drops:
        out.append(yes("element-lost" if drops >= 0.95 * marks else "element-drops", detail, place))
    if gains:
        out.append(yes("element-stuck" if gains >= 0.95 * spaces else "element-gains", detail, place))
    chances = [number(at(entry, f"{key}.p_value")) for key in ("drop_mark_by_previous", "drop_space_by_previous")]
    known = [chance for chance in chances if chance is not None]
    if known and min(known) < NO_ACCIDENT:
        rarely = f"by accident only once in {1 / max(min(known), 1e-6):.0f}"
        out.append(yes("depends-on-previous", f"{detail}; {rarely}", place))
    return out
