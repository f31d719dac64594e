"""The figures of a document, found by one walk over its type: for text, page, print, comparison and proof alike.

    class Contact(Document):
        row_label: ClassVar[str] = "contact {contact}"
        contact: str
        closing_late_ms: Annotated[Reading, figure("closes late", "ms", signed=True)]

    figures(line)   >   speed.unit_ms                   unit                     21.98 ± 0.04 ms
                        contacts.3.closing_late_ms      contact 3 closes late    +0.31 ± 0.02 ms

A record in a list is named by the fields in its `row_label`, so that the same thing has the same path in every
document; without a label it is numbered from 1. What the book holds as dictionaries, of any version, is walked in the
same way: what is not as its type says is not there.
"""

import functools
import string
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from msgspec import inspect

from tapewright.furniture.document import UNSET, Document, decoded
from tapewright.furniture.writing import Value, write
from tapewright.number import Reading, missing

#: what stands as reason where a document does not have a figure
NOT_THERE = "its document does not say"
_NULL = Reading(None, None, "")


@dataclass(frozen=True, slots=True)
class Mark:
    """What a field says of its figure, as `figure` in document.py takes it."""

    label: str = ""
    unit: str = ""
    says: str = ""
    signed: bool = False
    marks: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a document.

    Attributes:
        path: keys that lead to it; a record of a list by the words that name it, for example "3".
        label: what it is.
        value: the reading, number, word, yes or no; None where the document has null.
        unit: its unit.
        row: the record it belongs to, for example "contact 3"; empty outside a list.
        signed: whether its plus is written too.
        marks: what else its field says of it, for example "compared".
        says: the sentence of its field.
    """

    path: tuple[str, ...]
    label: str
    value: Value
    unit: str
    row: str = ""
    signed: bool = False
    marks: frozenset[str] = frozenset()
    says: str = ""

    @property
    def key(self) -> str:
        """Its path with points."""
        return ".".join(self.path)

    @property
    def name(self) -> str:
        """What it is, with the record it belongs to."""
        return f"{self.row} {self.label}".strip()

    @property
    def known(self) -> bool:
        """Whether there is a value."""
        return self.value is not None and not (isinstance(self.value, Reading) and self.value.value is None)

    @property
    def reading(self) -> Reading:
        """The value as a reading; a bare number has no doubt, and what is no number no value."""
        if isinstance(self.value, Reading):
            return self.value
        if self.value is None or isinstance(self.value, bool | str):
            return missing(self.unit, NOT_THERE if self.value is None else "it is no number")
        return Reading(float(self.value), None, self.unit)

    def __str__(self) -> str:
        """Write its value."""
        return write(self.value, self.unit, signed=self.signed)


def figures(
    document: Document | Mapping[str, Any], kind: type[Document] | None = None, mark: str = ""
) -> Iterator[Figure]:
    """Return the figures of a document in the order of its fields.

    Args:
        document: a typed document, or one as the book keeps it (then with `kind`).
        kind: the type of the document.
        mark: only those whose field has this mark; empty for all.
    """
    if kind is None:
        if not isinstance(document, Document):
            raise TypeError("a document without a type needs `kind`")
        kind = type(document)
    node = _record(kind, mark)
    return iter(()) if node is None else node.walk(document, (), "", Mark())


def figure_at(document: Document | Mapping[str, Any], key: str, kind: type[Document] | None = None) -> Figure | None:
    """Return the figure at a path with points, for example "contacts.3.closing_late_ms"; None when there is none."""
    return next((each for each in figures(document, kind) if each.key == key), None)


def side_by_side(a: Iterable[Figure], b: Iterable[Figure]) -> Iterator[tuple[Figure | None, Figure | None]]:
    """Return the figures of two documents in pairs of one path, in the order of the first; then what only b has."""
    others = {each.path: each for each in b}
    for each in a:
        yield each, others.pop(each.path, None)
    for other in others.values():
        yield None, other


def columns(kind: type[Document]) -> tuple[tuple[str, Mark], ...]:
    """Return the figures that each record of a type has: path with points inside the record, and mark."""
    node = _record(kind, "")
    return () if node is None else tuple(_leaves(node, ()))


def row_label(record: Document) -> str:
    """Return what names a record of a list, empty when its type says nothing."""
    return _label_of(type(record), record)[1]


# --- the walk: one node for each field that leads to a figure ---


@dataclass(frozen=True, slots=True)
class _Leaf:
    kind: Any

    def walk(self, value: Any, path: tuple[str, ...], row: str, mark: Mark) -> Iterator[Figure]:
        found: Value = value if isinstance(value, Reading) else decoded(value, self.kind)
        if self.kind is Reading and (found is None or found == _NULL):
            found = missing(mark.unit, NOT_THERE)
        unit = found.unit if isinstance(found, Reading) and found.unit else mark.unit
        yield Figure(path, mark.label, found, unit, row, mark.signed, mark.marks, mark.says)


@dataclass(frozen=True, slots=True)
class _Record:
    kind: type[Document]
    fields: tuple[tuple[str, str, "_Node", Mark], ...]

    def walk(self, value: Any, path: tuple[str, ...], row: str, mark: Mark) -> Iterator[Figure]:
        if not isinstance(value, Document | Mapping):
            return
        for name, key, node, own in self.fields:
            found = value.get(key) if isinstance(value, Mapping) else getattr(value, name)
            if found is not UNSET:
                yield from node.walk(found, (*path, key), row, own)


@dataclass(frozen=True, slots=True)
class _List:
    item: "_Node"

    def walk(self, value: Any, path: tuple[str, ...], row: str, mark: Mark) -> Iterator[Figure]:
        if not isinstance(value, list | tuple):
            return
        for number, each in enumerate(value, start=1):
            if isinstance(self.item, _Record):
                key, words = _label_of(self.item.kind, each)
                yield from self.item.walk(each, (*path, key or str(number)), _joined(row, words), mark)
            else:
                label = f"{mark.label} {number}".strip()
                own = Mark(label, mark.unit, mark.says, mark.signed, mark.marks)
                yield from self.item.walk(each, (*path, str(number)), row, own)


@dataclass(frozen=True, slots=True)
class _Table:
    item: "_Node"

    def walk(self, value: Any, path: tuple[str, ...], row: str, mark: Mark) -> Iterator[Figure]:
        if not isinstance(value, Mapping):
            return
        for key, each in value.items():
            own = Mark(f"{mark.label} {key}".strip(), mark.unit, mark.says, mark.signed, mark.marks)
            words = _joined(row, str(key)) if isinstance(self.item, _Record) else row
            yield from self.item.walk(each, (*path, str(key)), words, own)


_Node = _Leaf | _Record | _List | _Table
_KINDS = {inspect.FloatType: float, inspect.IntType: int, inspect.BoolType: bool, inspect.StrType: str}


@functools.cache
def _record(kind: type[Document], mark: str) -> _Record | None:
    info = inspect.type_info(kind)
    if not isinstance(info, inspect.StructType):
        return None
    fields = []
    for field in info.fields:
        own = _mark(field.type)
        node = _node(field.type, mark, wanted=own is not None and (not mark or mark in own.marks))
        if node is not None:
            fields.append((field.name, field.encode_name, node, own or Mark()))
    return _Record(kind, tuple(fields)) if fields else None


def _node(info: inspect.Type, mark: str, *, wanted: bool) -> _Node | None:
    """Return the node of a field's type; None when no figure lies there."""
    if isinstance(info, inspect.Metadata):
        return _node(info.type, mark, wanted=wanted)
    if isinstance(info, inspect.UnionType):
        parts = (_node(part, mark, wanted=wanted) for part in info.types if not isinstance(part, inspect.NoneType))
        return next((part for part in parts if part is not None), None)
    if isinstance(info, inspect.StructType):
        return _record(info.cls, mark) if issubclass(info.cls, Document) else None
    if isinstance(info, inspect.ListType | inspect.VarTupleType):
        item = _node(info.item_type, mark, wanted=wanted)
        return None if item is None else _List(item)
    if isinstance(info, inspect.TupleType):
        item = _node(info.item_types[0], mark, wanted=wanted)
        return _List(item) if isinstance(item, _Leaf) else None
    if isinstance(info, inspect.DictType):
        item = _node(info.value_type, mark, wanted=wanted)
        return None if item is None else _Table(item)
    if not wanted:
        return None
    if isinstance(info, inspect.CustomType):
        return _Leaf(Reading) if info.cls is Reading else None
    return _Leaf(_KINDS.get(type(info), str))


def _mark(info: inspect.Type) -> Mark | None:
    """Return what a field says of its figure; None for a field that is none."""
    if not isinstance(info, inspect.Metadata) or info.extra is None or "unit" not in info.extra:
        return None
    schema, extra = info.extra_json_schema or {}, info.extra
    return Mark(schema.get("title", ""), extra["unit"], schema.get("description", ""), extra.get("signed", False),
                frozenset(extra.get("marks", ())))  # fmt: skip


def _joined(*words: str) -> str:
    return ", ".join(word for word in words if word)


def _label_of(kind: type, record: Any) -> tuple[str, str]:
    """Return key and words of a record in a list; both empty where its type has no label."""
    label = getattr(kind, "row_label", "")
    if not label:
        return "", ""
    names = [name for _, name, _, _ in string.Formatter().parse(label) if name]
    values = {n: record.get(n) if isinstance(record, Mapping) else getattr(record, n, None) for n in names}
    if any(value is None for value in values.values()):
        return "", ""
    return "/".join(str(value) for value in values.values()), label.format_map(values)


def _leaves(node: _Record, path: tuple[str, ...]) -> Iterator[tuple[str, Mark]]:
    for name, _, below, mark in node.fields:
        if isinstance(below, _Record):
            yield from _leaves(below, (*path, name))
        elif isinstance(below, _Leaf):
            yield ".".join((*path, name)), mark
