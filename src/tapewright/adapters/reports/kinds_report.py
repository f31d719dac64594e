"""The kinds of line with their fields, from the tables that check them."""

from typing import Any

from tapewright.core.book.bodies import FIELDS, FORMS, Field
from tapewright.core.book.kinds import KINDS


def kinds_document() -> dict[str, Any]:
    """Give `tapewright/kinds/1`."""
    return {
        "format": "tapewright/kinds/1",
        "kinds": {
            kind: {"says": says, "fields": [_field(field) for field in FIELDS[kind]]} for kind, says in KINDS.items()
        },
    }


def kinds_text() -> str:
    """List them for a person; a star stands by a field that must be there."""
    return "\n\n".join(f"{kind}: {says}\n" + "\n".join(_line(f) for f in FIELDS[kind]) for kind, says in KINDS.items())


def holds(field: Field) -> str:
    """Say what a field holds."""
    return " | ".join(field.words) if field.words else FORMS[field.form][1]


def _line(field: Field) -> str:
    return f"  {'*' if field.must else ' '} {field.name:16s} {field.says} ({holds(field)})"


def _field(field: Field) -> dict[str, Any]:
    return {"name": field.name, "holds": field.form, "must": field.must, "words": list(field.words), "says": field.says}
