"""Typed documents: what a room says, as records whose fields say how they are written.

    class Speed(Document):
        unit_ms: Annotated[Reading, figure("unit", "ms")]
        proven: Annotated[bool, told("Whether timing may be judged with it.")]

One record is the source of the JSON (`encode`), of its JSON Schema (`json_schema`) and of reading it back (`decode`);
figures.py walks the same fields to write text, page, print and comparison. A reading is written as the contract has it,
{"value", "u", "unit", "n"} or null, a verdict as one flat object; both read back to the same types.
Decision 0150 says why msgspec, and why structs.
"""

import functools
import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar

import msgspec
import msgspec.inspect

from tapewright.errors import InputError
from tapewright.number import Limit, Reading, Source, Standing, State, Verdict

D = TypeVar("D", bound="Document")

#: A key that a document carries only in some cases.
UNSET, Unset = msgspec.UNSET, msgspec.UnsetType
#: Ends of what a number in a document may be: nothing on a bench is larger, and an odd one must not fill a page.
LARGEST = 1e15


class Document(msgspec.Struct, frozen=True, kw_only=True):
    """Base of every record of a document."""


def figure(
    label: str, unit: str = "", says: str = "", *, signed: bool = False, marks: tuple[str, ...] = ()
) -> msgspec.Meta:
    """Return the mark of a field that is a figure: a reading, a number or a count.

    Args:
        label: what it is, in a mechanic's words, as text, page and print write it.
        unit: unit of a bare number; a reading brings its own.
        says: a sentence for the schema, where the label is not enough.
        signed: a plus is written too, where the sign has a meaning (late +, early -).
        marks: what else readers of the document ask for, for example "compared"; `figures(document, mark=...)`.
    """
    extra: dict[str, Any] = {"unit": unit} | ({"signed": True} if signed else {}) | ({"marks": marks} if marks else {})
    return msgspec.Meta(title=label, description=says or None, extra=extra)


def told(says: str) -> msgspec.Meta:
    """Return the mark of a field that is no figure: a sentence for the schema and the reference page."""
    return msgspec.Meta(description=says)


def to_builtins(document: object) -> Any:
    """Return the document as dictionaries, lists, numbers and texts, as its JSON has them."""
    return _listed(msgspec.to_builtins(document, enc_hook=_encoded, builtin_types=(datetime,)))


def _listed(value: Any) -> Any:
    """Return the same with lists for tuples, as JSON gives them back, and times with their zone as +00:00."""
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, dict):
        return {key: _listed(each) for key, each in value.items()}
    return [_listed(each) for each in value] if isinstance(value, tuple | list) else value


def encode_json(document: object, *, compact: bool = False) -> str:
    """Return the document as JSON for people and programs: two blanks a level, letters as they are.

    Args:
        document: a typed document.
        compact: on one line, without blanks.

    Raises:
        ValueError: for NaN and infinity, which JSON has not.
    """
    line = json.dumps(msgspec.to_builtins(document, enc_hook=_encoded), allow_nan=False, ensure_ascii=False)
    return msgspec.json.format(line, indent=-1 if compact else 2)


def decode(kind: type[D], content: bytes | Mapping[str, Any], name: str = "the document") -> D:
    """Read a document back; keys that this version does not know are passed over.

    Args:
        kind: the type of the document.
        content: its JSON, or the same as dictionaries and lists.
        name: what it is called where it cannot be read.

    Raises:
        InputError: with the place, when it is not of this type.
    """
    try:
        if isinstance(content, bytes):
            return msgspec.json.decode(content, type=kind, dec_hook=_decoded)
        return msgspec.convert(content, kind, dec_hook=_decoded)
    except (msgspec.DecodeError, RecursionError, ValueError, TypeError) as problem:
        what, _, place = str(problem).partition(" - at ")
        raise InputError(name, place=place.strip("`"), expected=f"a document as {kind.__name__.lower()} has it",
                         found=what[:200]) from problem  # fmt: skip


def decoded(value: object, kind: Any) -> Any:
    """Return one value of a document as its type has it; None where it is of another type, not finite or too large."""
    try:
        read = msgspec.convert(value, kind, dec_hook=_decoded)
    except (msgspec.DecodeError, RecursionError, ValueError, TypeError):
        return None
    return read if not isinstance(read, float) or abs(read) <= LARGEST else None


def _encoded(value: object) -> Any:
    if isinstance(value, Reading):
        if value.value is None:
            return None
        return {"value": value.value, "u": value.u, "unit": value.unit, "n": value.n}
    if isinstance(value, Verdict):
        limit = value.limit
        return {
            "check": limit.check,
            "state": value.state.value,
            "value": value.value,
            "u": value.u,
            "low": limit.low,
            "high": limit.high,
            "unit": limit.unit,
            "source": str(limit.source),
            "standing": limit.source.standing.value,
            "why": value.why,
        }
    if isinstance(value, float):  # a number of another library
        return float(value)
    raise TypeError(f"a document cannot hold {type(value).__name__}")


class _Reading(msgspec.Struct):
    value: float
    u: float | None = None
    unit: str = ""
    n: int | None = None


class _Verdict(msgspec.Struct):
    check: str
    state: State
    value: float | None
    u: float | None
    low: float | None
    high: float | None
    unit: str
    source: str
    standing: Standing
    why: str


def _decoded(kind: type, content: object) -> Any:
    if kind is Reading:
        if content is None:
            return Reading(None, None, "")
        read = msgspec.convert(content, _Reading)
        if abs(read.value) > LARGEST:
            raise ValueError(f"a number of at most {LARGEST:g}, not {read.value:g}")
        return Reading(read.value, read.u, read.unit, read.n)
    if kind is Verdict:
        judged = msgspec.convert(content, _Verdict)
        source = Source(judged.source, "", judged.standing)
        limit = Limit(judged.check, judged.low, judged.high, judged.unit, source)
        return Verdict(judged.state, limit, judged.value, judged.u, judged.why)
    raise TypeError(f"a document cannot hold {kind.__name__}")


MEASURED_SCHEMA = {
    "description": "A value with its standard uncertainty; null when it could not be had (the reason is in `notes`).",
    "anyOf": [
        {"type": "null"},
        {
            "type": "object",
            "required": ["value", "u", "unit", "n"],
            "additionalProperties": False,
            "properties": {
                "value": {"type": "number"},
                "u": {"type": ["number", "null"], "minimum": 0},
                "unit": {"type": "string"},
                "n": {"type": ["integer", "null"], "minimum": 0},
            },
        },
    ],
}


@functools.cache
def json_schema(kind: type[Document]) -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a document: every key named, none unknown."""
    (schema,), parts = msgspec.json.schema_components((kind,), schema_hook=_schema_of, ref_template="#/$defs/{name}")
    kinds = {each.__name__: each for each in _records(msgspec.inspect.type_info(kind))}
    parts = {name: _whole(part, kinds[name]) if name in kinds else part for name, part in parts.items()}
    top = parts.pop(schema["$ref"].rsplit("/", 1)[-1])
    verdict = msgspec.json.schema(_Verdict)["$defs"]
    parts |= {"Measured": MEASURED_SCHEMA, "Verdict": _closed(verdict.pop("_Verdict"))} | verdict
    title = top["properties"].get("format", {}).get("enum", [top["title"]])[0]
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **top, "title": title, "$defs": parts}


def _records(info: Any) -> set[type[Document]]:
    """Return the records that a type leads to; two rooms may call theirs by one name."""
    if isinstance(info, msgspec.inspect.StructType):
        own = {info.cls} if issubclass(info.cls, Document) else set[type[Document]]()
        return own.union(*(_records(each.type) for each in info.fields))
    below = [getattr(info, name) for name in ("type", "item_type", "value_type") if hasattr(info, name)]
    below += [*getattr(info, "types", ()), *getattr(info, "item_types", ())]
    return set[type[Document]]().union(*map(_records, below))


def _whole(schema: dict[str, Any], kind: type[Document]) -> dict[str, Any]:
    """Return a record's schema as it is written: every key is there, but for those that may be left unset."""
    fields = msgspec.structs.fields(kind)
    for part in schema["properties"].values():
        part.pop("default", None)  # that is for reading older documents
    return _closed(schema) | {"required": [each.encode_name for each in fields if each.default is not UNSET]}


def _closed(schema: dict[str, Any]) -> dict[str, Any]:
    return schema | {"additionalProperties": False}


def _schema_of(kind: type) -> dict[str, Any]:
    if kind in (Reading, Verdict):
        return {"$ref": f"#/$defs/{'Measured' if kind is Reading else 'Verdict'}"}
    raise TypeError(f"a document cannot hold {kind.__name__}")
