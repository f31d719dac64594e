"""A result document in one sentence, for lists and for the record."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

Document = Mapping[str, Any]

MOVED = {"True": "the armature moved", "False": "the armature did not move"}


def in_a_sentence(document: Document) -> str:
    """Say the outcome of a result document; an unknown format is named."""
    name = str(document.get("format", "a document without a format"))
    said = SAYERS.get(name)
    parts = [part for part in (said(document) if said else [name]) if part]
    return "; ".join([*parts, *_judged(document)])


def verdicts_of(document: Document) -> Iterator[Mapping[str, Any]]:
    """Give the verdicts of a result document, wherever that format keeps them."""
    for verdict in [*_list(document, "verdicts"), *_list(document, "now")]:
        if isinstance(verdict, Mapping):
            yield verdict
    for requirement in _list(document, "requirements"):
        verdict = requirement.get("verdict") if isinstance(requirement, Mapping) else None
        if isinstance(verdict, Mapping):
            yield verdict


def _judged(document: Document) -> list[str]:
    verdicts = list(verdicts_of(document))
    outside = [str(v.get("check")) for v in verdicts if v.get("state") == "outside"]
    unclear = sum(v.get("state") == "not shown" for v in verdicts)
    said = [f"outside: {', '.join(outside)}"] if outside else []
    if unclear:
        said.append(f"{unclear} not shown")
    if verdicts and not said:
        said.append(f"all {len(verdicts)} within")
    return said


def _line(document: Document) -> list[str]:
    return [_figure(document, "speed", "baud"), f"{len(_list(document, 'codes'))} characters", _worst_contact(document)]


def _worst_contact(document: Document) -> str:
    """Say which contact is farthest off, if one is beyond its doubt twice over."""
    found = []
    for contact in _list(document, "contacts"):
        for side, does in (("closing_late_ms", "closes"), ("opening_late_ms", "opens")):
            late = contact.get(side) if isinstance(contact, Mapping) else None
            if isinstance(late, Mapping) and late.get("u") is not None and abs(late["value"]) > 4 * late["u"]:
                found.append((abs(late["value"]), str(contact.get("contact")), does, late))
    if not found:
        return ""
    size, name, does, late = max(found, key=lambda each: each[0])
    called = f"contact {name}" if name.isdecimal() else f"the {name} contact"
    way = "late" if late["value"] > 0 else "early"
    return f"{called} {does} {size:.2f} ms {way}, ± {2 * late['u']:.2f}"


def _tape(document: Document) -> list[str]:
    rows = [len(_list(strip, "rows")) for strip in _list(document, "strips") if isinstance(strip, Mapping)]
    return [f"{len(rows)} strip{'s' * (len(rows) != 1)}, {sum(rows)} rows"]


def _coil(document: Document) -> list[str]:
    moved = MOVED.get(str(document.get("moved")), "not shown whether the armature moved")
    landing = _figure(document, "landing_ms")
    return [moved, f"landing {landing}" if landing else ""]


def _sheet(document: Document) -> list[str]:
    return [f"{document.get('machine', 'machine')}: {len(_list(document, 'requirements'))} requirements"]


def _compare(document: Document) -> list[str]:
    proves = [str(line) for line in _list(document, "proves")]
    return [f"{document.get('compared', 0)} characters on line and tape", *(proves or ["both agree"])]


def _trim(document: Document) -> list[str]:
    return [f"{document.get('state')}: {document.get('why')}"]


def _observation(document: Document) -> list[str]:
    said = [(word, _list(document, key)) for word, key in (("yes", "yes"), ("no", "no"), ("cannot say", "cannot_say"),
                                                           ("done", "done"), ("tried in vain", "tried"))]  # fmt: skip
    pairs = [f"sent {p.get('sent')}, came {p.get('received')}" for p in _list(document, "pairs")]
    return [f"{word}: {', '.join(map(str, words))}" for word, words in said if words] + pairs


SAYERS: dict[str, Callable[[Document], list[str]]] = {
    "tapewright/line/1": _line,
    "tapewright/tape/1": _tape,
    "tapewright/coil/1": _coil,
    "tapewright/sheet/1": _sheet,
    "tapewright/compare/1": _compare,
    "tapewright/trim/1": _trim,
    "tapewright/observation/1": _observation,
}


def _list(document: Any, key: str) -> list[Any]:
    value = document.get(key) if isinstance(document, Mapping) else None
    return value if isinstance(value, list) else []


def _figure(document: Any, *path: str) -> str:
    for key in path:
        document = document.get(key) if isinstance(document, Mapping) else None
    if not isinstance(document, Mapping) or not isinstance(document.get("value"), int | float):
        return ""
    u = document.get("u")
    doubt = f" ± {2 * u:.2g}" if isinstance(u, int | float) else ""
    return f"{document['value']:.5g}{doubt} {document.get('unit', '')}".strip()
