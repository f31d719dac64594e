"""The manifest: what is in a bundle, from which program, with the length and fingerprint of every member."""

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

#: without and with chains; a bundle without a signed line is written as it always was
FORMAT, CHAINED = "tapewright/bundle/1", "tapewright/bundle/2"
_FAMILY = re.compile(r"tapewright/bundle/(\d+)")
_SHA256, _MACHINE = re.compile(r"[0-9a-f]{64}"), re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Member:
    """One file of a bundle.

    Attributes:
        name: its name in the zip.
        bytes: its length, unpacked.
        sha256: its fingerprint.
    """

    name: str
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Packed:
    """One machine in a bundle.

    Attributes:
        key: the same in every book.
        name: what people call it.
        model: model or type.
        entries: lines about it.
    """

    key: str
    name: str
    model: str
    entries: int


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a bundle says of itself.

    Attributes:
        program: version that wrote it.
        machines: by name.
        entries: number of lines.
        left_out: number of lines that were not whole and are not among them.
        members: all files but the manifest, by name.
        chained: whether lines stand in chains.
    """

    program: str
    machines: tuple[Packed, ...]
    entries: int
    left_out: int
    members: tuple[Member, ...]
    chained: bool = False


def manifest_bytes(manifest: Manifest) -> bytes:
    """Write a manifest."""
    document = {
        "format": CHAINED if manifest.chained else FORMAT,
        "program": manifest.program,
        "machines": [{"key": m.key, "name": m.name, "model": m.model, "entries": m.entries} for m in manifest.machines],
        "entries": manifest.entries,
        "left_out": manifest.left_out,
        "members": [{"name": m.name, "bytes": m.bytes, "sha256": m.sha256} for m in manifest.members],
    }
    return (json.dumps(document, indent=1, ensure_ascii=False) + "\n").encode()


def read_manifest(data: bytes) -> Manifest:
    """Read a manifest.

    Raises:
        ValueError: "what was expected|what was found", when it is none.
    """
    document = _json(data)
    _format(document)
    machines = tuple(
        Packed(
            _matching(m, "key", _MACHINE, "a machine's key of 32 hex digits"),
            _text(m, "name"),
            _text(m, "model"),
            _count(m, "entries"),
        )
        for m in _objects(document, "machines")
    )
    members = tuple(
        Member(_text(m, "name"), _count(m, "bytes"), _matching(m, "sha256", _SHA256, "a SHA-256 fingerprint"))
        for m in _objects(document, "members")
    )
    program, entries = _text(document, "program"), _count(document, "entries")
    return Manifest(program, machines, entries, _count(document, "left_out"), members, document["format"] == CHAINED)


def _json(data: bytes) -> Mapping[str, Any]:
    try:
        document = json.loads(data.decode("utf-8"), object_pairs_hook=_once)
    except RecursionError:
        raise ValueError("a JSON object|one that is nested too deep") from None
    except ValueError as problem:
        raise ValueError(f"JSON in UTF-8|{problem}") from None
    if not isinstance(document, dict):
        raise ValueError(f"a JSON object|{type(document).__name__}")
    return document


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse an object that says one thing twice: two readers could take two answers from it."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("an object with the same key twice")
    return found


def _format(document: Mapping[str, Any]) -> None:
    said = document.get("format")
    if said in (FORMAT, CHAINED):
        return
    other = _FAMILY.fullmatch(said) if isinstance(said, str) else None
    if other:
        raise ValueError(
            f"format {CHAINED} or {FORMAT}|{said}, which this program does not know: use the one that wrote it"
        )
    raise ValueError(f"format {FORMAT}|{said!r}")


def _objects(document: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    found = document.get(name)
    if not isinstance(found, list) or not all(isinstance(item, dict) for item in found):
        raise ValueError(f"{name!r} to be a list of objects|{_short(found)}")
    return found


def _text(document: Mapping[str, Any], name: str) -> str:
    found = document.get(name)
    if not isinstance(found, str):
        raise ValueError(f"{name!r} to be text|{_short(found)}")
    return found


def _count(document: Mapping[str, Any], name: str) -> int:
    found = document.get(name)
    if not isinstance(found, int) or isinstance(found, bool) or found < 0:
        raise ValueError(f"{name!r} to be a whole number|{_short(found)}")
    return found


def _matching(document: Mapping[str, Any], name: str, pattern: re.Pattern[str], what: str) -> str:
    found = _text(document, name)
    if not pattern.fullmatch(found):
        raise ValueError(f"{name!r} to be {what}|{_short(found)}")
    return found


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
