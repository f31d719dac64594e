"""Documents that a book keeps: of older and newer versions, and by other people's programs. What is whole is read.

    a part that cannot be read       stands at its default, is null where null is allowed, a reading without value,
                                     a text without letters
    a record of a list               is left out when something it cannot do without is not there
    a record that is not there       is made of the defaults of its fields, when all have one
    the document                     None when that does not go; what could not be read is told by its place

Nothing is guessed: no number stands where none was read, but for a default that the type itself declares.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Generic, Literal, TypeVar

from msgspec import inspect

from tapewright.errors import InputError
from tapewright.furniture.document import Document, decode, decoded
from tapewright.number import Reading, missing

D = TypeVar("D", bound=Document)

CANNOT_BE_READ = "its document cannot be read there"
_LEAVES = {inspect.FloatType: float, inspect.IntType: int, inspect.BoolType: bool, inspect.StrType: str}


@dataclass(frozen=True, slots=True)
class Kept(Generic[D]):
    """A document out of a book.

    Attributes:
        document: what could be read; None when too little could.
        faults: places that could not be read, for example "contacts[2].gap_mm".
    """

    document: D | None
    faults: tuple[str, ...] = ()


class _UnreadableError(ValueError):
    """A part without which the record around it is none."""


def decode_what_is_whole(kind: type[D], content: object) -> Kept[D]:
    """Read a document of any version.

    Args:
        kind: the type it should be of.
        content: dictionaries, lists, numbers and texts, as its JSON has them.
    """
    if not isinstance(content, Mapping):
        return Kept(None, ("",))
    try:
        return Kept(decode(kind, content))
    except InputError:
        pass
    faults: list[str] = []
    try:
        document: D = _struct(inspect.type_info(kind), content, "", faults)
    except (_UnreadableError, RecursionError):
        return Kept(None, tuple(faults))
    return Kept(document, tuple(faults))


def _struct(info: Any, content: object, place: str, faults: list[str]) -> Any:
    if not isinstance(content, Mapping):
        raise _UnreadableError(place)
    values: dict[str, Any] = {}
    for field in info.fields:
        where = f"{place}.{field.encode_name}" if place else field.encode_name
        if field.encode_name in content:
            try:
                values[field.name] = _value(field.type, content[field.encode_name], where, faults)
                continue
            except _UnreadableError:
                faults.append(where)
        if field.required:
            values[field.name] = _nothing(field.type, where, faults)
    return info.cls(**values)


def _value(info: inspect.Type, content: object, place: str, faults: list[str]) -> Any:
    if isinstance(info, inspect.Metadata):
        return _value(info.type, content, place, faults)
    if isinstance(info, inspect.UnionType):
        return _one_of(info, content, place, faults)
    if isinstance(info, inspect.StructType):
        return _struct(info, content, place, faults)
    if isinstance(info, inspect.VarTupleType | inspect.ListType):
        if not isinstance(content, list | tuple):
            raise _UnreadableError(place)
        items = _items(info.item_type, enumerate(content), f"{place}[{{}}]", faults).values()
        return tuple(items) if isinstance(info, inspect.VarTupleType) else list(items)
    if isinstance(info, inspect.DictType):
        if not isinstance(content, Mapping):
            raise _UnreadableError(place)
        return _items(info.value_type, content.items(), f"{place}.{{}}", faults)
    if isinstance(info, inspect.NoneType) and content is None:
        return None
    found = decoded(content, _python(info))
    if found is None and not isinstance(info, inspect.AnyType):
        raise _UnreadableError(place)
    return found


def _one_of(info: inspect.UnionType, content: object, place: str, faults: list[str]) -> Any:
    if content is None and any(isinstance(part, inspect.NoneType) for part in info.types):
        return None
    for part in info.types:
        if isinstance(part, inspect.NoneType):
            continue
        try:
            return _value(part, content, place, faults)
        except _UnreadableError:
            continue
    raise _UnreadableError(place)


def _items(info: inspect.Type, content: Any, place: str, faults: list[str]) -> dict[Any, Any]:
    out = {}
    for key, each in content:
        try:
            out[key] = _value(info, each, place.format(key), faults)
        except _UnreadableError:
            faults.append(place.format(key))
    return out


def _nothing(info: inspect.Type, place: str, faults: list[str]) -> Any:
    """Return what stands for a part that is not there."""
    if isinstance(info, inspect.Metadata):
        return _nothing(info.type, place, faults)
    if isinstance(info, inspect.UnionType) and any(isinstance(part, inspect.NoneType) for part in info.types):
        return None
    if isinstance(info, inspect.CustomType) and info.cls is Reading:
        return missing("", CANNOT_BE_READ)
    if isinstance(info, inspect.VarTupleType):
        return ()
    if isinstance(info, inspect.ListType | inspect.DictType):
        return [] if isinstance(info, inspect.ListType) else {}
    if isinstance(info, inspect.StrType):
        return ""
    if isinstance(info, inspect.StructType):
        return _struct(info, {}, place, faults)
    raise _UnreadableError(place)


def _python(info: inspect.Type) -> Any:
    """Return the type of a value that is read in one piece."""
    if isinstance(info, inspect.LiteralType):
        return Literal[info.values]
    if isinstance(info, inspect.TupleType):
        return tuple[tuple(_python(part) for part in info.item_types)]  # type: ignore[misc]
    if isinstance(info, inspect.Metadata):
        return _python(info.type)
    return _LEAVES.get(type(info)) or getattr(info, "cls", Any)
