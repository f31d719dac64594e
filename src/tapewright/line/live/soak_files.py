"""The state of a soak on disk, written whole or not at all; and its log, which only grows."""

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

import msgspec

from tapewright.errors import InputError
from tapewright.line.live.soak import Code, SoakState

FORMAT: Literal["tapewright/soak-state/1"] = "tapewright/soak-state/1"
#: without these it is no state; others may be missing in one of an earlier version
NEEDED = ("seconds", "characters", "changed", "lost", "extra", "bins", "place", "waiting")


class _Kept(msgspec.Struct):
    text: Annotated[list[Code], msgspec.Meta(min_length=1)]
    state: SoakState
    format: Literal["tapewright/soak-state/1"]


def write_state(path: Path, state: SoakState, text: list[str]) -> None:
    """Write the state: beside it first, to the disk, then in its place."""
    unfinished = path.with_name(path.name + ".unfinished")
    with unfinished.open("wb") as file:
        file.write(msgspec.json.encode(_Kept(text, state, FORMAT)))
        file.flush()
        os.fsync(file.fileno())
    os.replace(unfinished, path)


def read_state(path: Path) -> tuple[SoakState, list[str]]:
    """Read a state and the text it is of.

    Raises:
        InputError: when it is none.
    """
    try:
        document = msgspec.json.decode(path.read_bytes())
        found = msgspec.convert(document, _Kept, str_keys=True)
        lacking = [name for name in NEEDED if name not in document["state"]]
        state, places = found.state, len(found.text)
        if lacking:
            raise ValueError(f"one without {lacking[0]}")
        if max([state.place or 0, *state.by_place]) >= places or state.wrong > state.characters:
            raise ValueError("a place or a count that is none")
    except (ValueError, RecursionError) as reason:  # msgspec's errors are ValueErrors
        raise InputError(path.name, expected=f"a state that a soak wrote ({FORMAT})", found=str(reason)[:120],
                         do="Name another file with --state to begin anew.") from reason  # fmt: skip
    return state, found.text


def append_log(path: Path, line: Mapping[str, object]) -> None:
    """Add one line to the log."""
    with path.open("a", encoding="utf-8") as file:
        file.write(json.dumps(line, allow_nan=False) + "\n")


def kept_as(path: Path) -> tuple[str, int]:
    """Return the line of the book that this soak was last kept as, empty for none; and which side that was, from 0."""
    beside = _beside(path, "kept")
    key, _, side = (beside.read_text("utf-8", errors="replace").strip() if beside.is_file() else "").partition(" ")
    return key, int(side) if side.isdecimal() else 0


def write_kept(path: Path, key: str, side: int) -> None:
    """Note the line of the book, beside the state: a soak that runs on writes the state itself."""
    _beside(path, "kept").write_text(f"{key} {side}\n", encoding="utf-8")


def add_mark(path: Path, label: str) -> None:
    """Say that something was adjusted; a soak that runs with this state takes it in, else the next start does."""
    append_log(_beside(path, "marks"), {"label": label})


def marks_of(path: Path, after: int) -> list[str]:
    """Return what was adjusted, after so many adjustments that are known; a line cut short is let be."""
    beside, labels = _beside(path, "marks"), []
    for line in beside.read_text("utf-8", errors="replace").splitlines() if beside.is_file() else ():
        try:
            labels.append(str(json.loads(line)["label"]))
        except (ValueError, KeyError, TypeError):
            continue
    return labels[after:]


def _beside(path: Path, what: str) -> Path:
    return path.with_name(f"{path.name}.{what}")
