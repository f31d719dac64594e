"""Write docs/reference/api.md, the Python API, from its functions and the types they return.

    python scripts/generate_api.py

With `--check` nothing is written; the exit code says whether the page is what it would be.
"""

import inspect
import re
import sys
import types
import typing
from collections.abc import Iterator
from pathlib import Path

import msgspec
from generate_schemas import DOCUMENTS

import tapewright
from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.document import Document
from tapewright.number import Limit, Reading, Source, Verdict

PAGE = Path(__file__).resolve().parents[1] / "docs" / "reference" / "api.md"
HEAD = """# The Python API

Made by `python scripts/generate_api.py` from the functions and their types; do not edit by hand. How to work with it is
in [Measure in Python](../tutorials/in-python.md).

    import tapewright as tw

Each function does what the command of its name does and returns the same document as its `--json`, typed. Importing
`tapewright` loads nothing heavy; the first call does. Other modules of the package are not public and may change.
"""
#: values of a document that are no records -> their heading
VALUES: dict[type, str] = {Reading: "Reading", Verdict: "Verdict", Limit: "Limit", Source: "Source of a limit"}
ERRORS: tuple[type[Exception], ...] = (InputError, WrongUseError)


def main(arguments: list[str]) -> int:
    """Write the page, or compare it."""
    text = page()
    if "--check" in arguments:
        return 0 if PAGE.read_text(encoding="utf-8") == text else 1
    PAGE.write_text(text, encoding="utf-8")
    print("wrote", PAGE.name)
    return 0


def page() -> str:
    """Return the text of the page."""
    parts = [HEAD, "\n## Functions\n"]
    returned: list[type[Document]] = []
    for name in tapewright.__all__:
        public = getattr(tapewright, name)
        parts.append(
            _function(name, public) if inspect.isroutine(public) else _class(public, name, f"tapewright.{name}")
        )
        kind = _returned(public)
        if kind is not None and kind not in returned:
            returned.append(kind)
    seen: set[type] = set()
    for kind in returned:
        parts.append(f"\n## What `{kind.__name__}` holds\n")
        parts += [_record(each) for each in _records(kind, seen)]
    parts.append("\n## Values\n")
    parts += [_class(kind, title, f"tapewright.number.{kind.__name__}") for kind, title in VALUES.items()]
    parts.append("\n## What is raised\n")
    parts += [_class(kind, kind.__name__, f"tapewright.errors.{kind.__name__}") for kind in ERRORS]
    return "".join(parts)


def _function(name: str, function: object) -> str:
    signature = inspect.signature(typing.cast("typing.Callable[..., object]", function))
    lines = [f"    {_written(parameter)}," for parameter in signature.parameters.values()]
    keyword = next((k for k, p in enumerate(signature.parameters.values()) if p.kind is p.KEYWORD_ONLY), None)
    if keyword is not None:
        lines.insert(keyword, "    *,")
    gives = str(signature.return_annotation).strip("\"'")
    call = "\n".join([f"tapewright.{name}(", *lines, f") -> {gives}"])
    return f"\n### {name}\n\n```text\n{call}\n```\n\n{_docstring(function)}\n"


def _written(parameter: inspect.Parameter) -> str:
    return str(parameter).replace("'", '"')


def _returned(public: object) -> type[Document] | None:
    """Return the document that a function returns, by the name in its signature."""
    name = str(getattr(public, "__annotations__", {}).get("return", "")).strip("\"'")
    return next((kind for kind in DOCUMENTS.values() if kind.__name__ == name), None)


def _class(kind: type, title: str, name: str) -> str:
    return f"\n### {title}\n\n`{name}`\n\n{_docstring(kind)}\n"


def _docstring(thing: object) -> str:
    """Return a docstring with its sections as lists."""
    lines = []
    for line in inspect.cleandoc(inspect.getdoc(thing) or "").splitlines():
        if re.fullmatch(r"(Args|Attributes|Raises|Returns):", line):
            lines.append(f"**{line[:-1]}**\n")
        elif item := re.fullmatch(r"    ([\w.]+): (.*)", line):
            lines.append(f"- `{item[1]}`: {item[2]}")
        else:
            lines.append(line.strip() if line.startswith("     ") else line)
    return "\n".join(lines)


def _records(kind: type[Document], seen: set[type]) -> Iterator[type[Document]]:
    """Return a record and all records inside it, each once, in the order of the fields."""
    if kind in seen:
        return
    seen.add(kind)
    yield kind
    for hint in typing.get_type_hints(kind).values():
        for inner in _types_in(hint):
            if isinstance(inner, type) and issubclass(inner, Document):
                yield from _records(inner, seen)


def _types_in(hint: object) -> Iterator[object]:
    inner = typing.get_args(hint)
    if not inner:
        yield hint
    for each in inner:
        yield from _types_in(each)


def _record(kind: type[Document]) -> str:
    hints = typing.get_type_hints(kind, include_extras=True)
    rows = "\n".join(f"| `{field.name}` | {_type(hints[field.name])} | {_says(hints[field.name])} |"
                     for field in msgspec.structs.fields(kind))  # fmt: skip
    about = (kind.__doc__ or "").strip()
    return f"\n### {kind.__name__}\n\n{about}\n\n| field | type | what it is |\n|---|---|---|\n{rows}\n"


def _type(hint: object) -> str:
    """Return a type as it is written, with a link to each record."""
    if typing.get_origin(hint) is typing.Annotated:
        return _type(typing.get_args(hint)[0])
    inner = typing.get_args(hint)
    if isinstance(hint, types.UnionType) or typing.get_origin(hint) is typing.Union:
        return " or ".join(_type(each) for each in inner)
    if typing.get_origin(hint) is typing.Literal:
        return " or ".join(f'"{each}"' for each in inner)
    if typing.get_origin(hint) is tuple:
        return f"tuple of {_type(inner[0])}" if Ellipsis in inner else f"({', '.join(map(_type, inner))})"
    if hint is type(None):
        return "None"
    name = getattr(hint, "__name__", str(hint))
    if not isinstance(hint, type) or not (hint in VALUES or issubclass(hint, Document)):
        return name
    anchor = VALUES.get(hint, name).lower().replace(" ", "-")
    return f"[{name}](#{anchor})"


def _says(hint: object) -> str:
    """Return label, unit and sentence of a field."""
    if typing.get_origin(hint) is not typing.Annotated:
        return ""
    meta = next((m for m in typing.get_args(hint)[1:] if isinstance(m, msgspec.Meta)), None)
    if meta is None:
        return ""
    unit = (meta.extra or {}).get("unit") or ""
    label = f"{meta.title}{f', {unit}' if unit else ''}" if meta.title else ""
    return ". ".join(part for part in (label, (meta.description or "").replace("|", "\\|")) if part)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
