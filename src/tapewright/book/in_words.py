"""A result document in one sentence, for lists and for the record."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from tapewright.number import Reading

Document = Mapping[str, Any]

#: what a signal was sent with: word -> key of the document
SENT_WITH = (
    ("bias", "bias_percent"),
    ("end distortion", "end_percent"),
    ("scatter", "scatter_percent"),
    ("speed error", "speed_error_percent"),
)
MOVED = {"True": "the armature moved", "False": "the armature did not move"}


def in_a_sentence(document: Document) -> str:
    """Say the outcome of a result document; an unknown format is named."""
    name = str(document.get("format", "a document without a format"))
    said = SAYERS.get(name)
    parts = [part for part in (said(document) if said else [name]) if part]
    return "; ".join([*parts, *_judged(document)])


def verdicts_of(document: Document) -> Iterator[Mapping[str, Any]]:
    """Return the verdicts of a result document, wherever that format keeps them."""
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
    return [f"{document.get('state')}: {str(document.get('why')).rstrip('.')}"]


def _observation(document: Document) -> list[str]:
    said = [
        (word, _list(document, key))
        for word, key in (
            ("yes", "yes"),
            ("no", "no"),
            ("cannot say", "cannot_say"),
            ("done", "done"),
            ("tried in vain", "tried"),
        )
    ]
    pairs = [f"sent {p.get('sent')}, came {p.get('received')}" for p in _list(document, "pairs")]
    return [f"{word}: {', '.join(map(str, words))}" for word, words in said if words] + pairs


def _margin(document: Document) -> list[str]:
    asked = len(_list(document, "questions"))
    after = f"after {asked} question{'s' * (asked != 1)}"
    if document.get("state") == "nowhere":
        return [f"no setting reads right, {after}"]
    least = document.get("margin_at_least_percent")
    margin = f"at least {least:.0f} percent" if isinstance(least, int | float) else _figure(document, "margin_percent")
    ends = [_figure(document, f"orientation_{end}") for end in ("low", "high")]
    reads = f"reads right from {ends[0].removesuffix(' points')} to {ends[1]}" if all(ends) else ""
    return [f"margin {margin or 'not known'} {after}", reads]


def _speed(document: Document) -> list[str]:
    ways = [str(way.get("way")) for way in _list(document, "ways") if isinstance(way, Mapping)]
    by = f"by {', '.join(ways)}"
    if document.get("consistent") is False:
        by += ", which disagree"
    return [f"{_figure(document, 'baud') or 'no speed is given'} {by}"]


def _supply(document: Document) -> list[str]:
    volts, state = document.get("volts"), document.get("state")
    steps = _list(document, "steps")
    last = _figure(steps[-1], "error_percent") if steps else ""
    at = f"speed off by {last} at {volts:g} V" if last and isinstance(volts, int | float) else "no speed was read"
    return [f"brought in by the supply: {state}", at]


def _sent(document: Document) -> list[str]:
    printed, many = document.get("printed"), len(_list(document, "codes"))
    faults = [
        f"{word} {document[key]:g} %"
        for word, key in SENT_WITH
        if isinstance(document.get(key), int | float) and document[key]
    ]
    said = [f"sent {many} character{'s' * (many != 1)} to {document.get('sink')}", ", ".join(faults)]
    if isinstance(printed, Mapping):
        said.append("printed as sent" if printed.get("as_sent") else "not printed as sent")
    return said


def _train(document: Document) -> list[str]:
    wanted, given = document.get("wanted"), document.get("given")
    turns = wanted.get("motor_rpm") if isinstance(wanted, Mapping) else None
    said = [f"motor must turn at {turns:.6g} rpm" if isinstance(turns, int | float) else "motor to line"]
    baud = given.get("baud") if isinstance(given, Mapping) else None
    return [*said, f"as given {baud:.5g} Bd"] if isinstance(baud, int | float) else said


def _pinion(document: Document) -> list[str]:
    pairs = [pair for pair in _list(document, "pairs") if isinstance(pair, Mapping)]
    best = min(pairs, key=lambda p: abs(p.get("residual_percent") or 0.0), default=None)
    if best is None:
        return ["no pair of wheels comes near"]
    left = best.get("residual_percent")
    off = f", {left:+.3g} %" if isinstance(left, int | float) and left else ", exactly"
    return [f"{best.get('pinion')}:{best.get('gear')} comes nearest{off}"]


def _makeshift(document: Document) -> list[str]:
    turns, good_for = document.get("must_turn_rpm"), str(document.get("good_for", ""))
    drive = f"makeshift drive at {turns:.6g} rpm" if isinstance(turns, int | float) else "makeshift drive"
    return [drive, good_for.split(".")[0]]


SAYERS: dict[str, Callable[[Document], list[str]]] = {
    "tapewright/line/1": _line,
    "tapewright/tape/1": _tape,
    "tapewright/coil/1": _coil,
    "tapewright/sheet/1": _sheet,
    "tapewright/compare/1": _compare,
    "tapewright/trim/1": _trim,
    "tapewright/observation/1": _observation,
    "tapewright/margin/1": _margin,
    "tapewright/speed/1": _speed,
    "tapewright/supply/1": _supply,
    "tapewright/sent/1": _sent,
    "tapewright/train/1": _train,
    "tapewright/pinion/1": _pinion,
    "tapewright/makeshift/1": _makeshift,
}


def _list(document: Any, key: str) -> list[Any]:
    value = document.get(key) if isinstance(document, Mapping) else None
    return value if isinstance(value, list) else []


def _figure(document: Any, *path: str) -> str:
    """Write a reading to the digits that its doubt allows; nothing where there is none."""
    for key in path:
        document = document.get(key) if isinstance(document, Mapping) else None
    value, u = (document.get("value"), document.get("u")) if isinstance(document, Mapping) else (None, None)
    if not isinstance(value, int | float) or not isinstance(u, int | float | None):
        return ""
    try:
        return str(Reading(value, u, str(document.get("unit") or ""))).strip()
    except ValueError:  # from a bundle of another hand
        return ""
