"""The state of a soak on disk, written whole or not at all; and its log, which only grows."""

import json
import os
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

from tapewright.errors import InputError
from tapewright.line.live.soak import SoakState
from tapewright.line.live.soak_sides import COUNTS, MOST_SIDES, Bin, Side

FORMAT = "tapewright/soak-state/1"
#: fields that a state of an earlier version may lack; the least of those that may be below zero
NEWER = ("source", "source_seconds", "source_last_s", "label", "begun_s", "marks", "book_line", "earlier", "stray",
         "longest_stray", "astray", "blocks", "errored_blocks", "block_characters", "block_wrong")  # fmt: skip
LEAST = {"source_last_s": -1, "book_line": -1}


#: those that a side of an earlier version may lack
NEWER_COUNTS = dict.fromkeys(("stray", "longest_stray", "blocks", "errored_blocks"), 0)


def write_state(path: Path, state: SoakState, text: list[str]) -> None:
    """Write the state: beside it first, to the disk, then in its place."""
    document = {"format": FORMAT, "text": text, "state": asdict(state)}
    unfinished = path.with_name(path.name + ".unfinished")
    with unfinished.open("w", encoding="utf-8") as file:
        json.dump(document, file, allow_nan=False)
        file.flush()
        os.fsync(file.fileno())
    os.replace(unfinished, path)


def read_state(path: Path) -> tuple[SoakState, list[str]]:
    """Read a state and the text it is of.

    Raises:
        InputError: when it is none.
    """

    def no(found: str) -> InputError:
        return InputError(path.name, expected=f"a state that a soak wrote ({FORMAT})", found=found,
                          do="Name another file with --state to begin anew.")  # fmt: skip

    try:
        document = json.loads(path.read_text("utf-8"))
    except (ValueError, UnicodeDecodeError) as reason:
        raise no(str(reason)) from reason
    if not isinstance(document, dict) or document.get("format") != FORMAT:
        raise no("another document")
    text, state = document.get("text"), document.get("state")
    wanted = {f.name for f in fields(SoakState)}
    if isinstance(state, dict):
        state = {name: getattr(SoakState(), name) for name in NEWER} | state
    if not isinstance(text, list) or not _is_codes(text) or not isinstance(state, dict) or set(state) != wanted:
        raise no("one with other fields")
    try:
        bins = [Bin(int(b["n"]), float(b["total"]), float(b["squares"])) for b in state.pop("bins")]
        earlier = _sides(state.pop("earlier"))
        place = state.pop("place")
        waiting = state.pop("waiting")
        numbers: dict[str, Any] = {k: type(getattr(SoakState(), k))(v) for k, v in state.items()}
    except (TypeError, ValueError, KeyError, AttributeError, OverflowError) as reason:
        raise no("figures that are none") from reason
    right_place = place is None or (isinstance(place, int) and 0 <= place < len(text))
    if not isinstance(waiting, list) or (waiting and not _is_codes(waiting)) or not right_place:
        raise no("a place that is none")
    if not all(isinstance(v, str) or v >= LEAST.get(k, 0) for k, v in numbers.items()) or numbers["bin_s"] <= 0:
        raise no("figures below zero")
    return SoakState(**numbers, place=place, waiting=waiting, bins=bins, earlier=earlier), text


def append_log(path: Path, line: dict[str, Any]) -> None:
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


def _sides(found: Any) -> list[Side]:
    """Return the sides before the last adjustment.

    Raises:
        TypeError, ValueError: when they are none.
    """
    if not isinstance(found, list) or len(found) > MOST_SIDES:
        raise ValueError("sides")
    return [_side(each) for each in found]


def _side(found: dict[str, Any]) -> Side:
    found = NEWER_COUNTS | found
    counts = [found[name] for name in COUNTS]
    numbers = [found[name] for name in ("seconds", "unit_ms", "unit_u_ms", "ripple_percent")]
    drifts = [found[name] for name in ("drift_percent", "drift_u_percent") if found[name] is not None]
    if not isinstance(found["label"], str) or not all(isinstance(n, int) and n >= 0 for n in counts):
        raise ValueError("a side")
    if not all(isinstance(n, int | float) for n in (*numbers, *drifts)):
        raise ValueError("a side")
    side = Side(**found)
    if side.wrong > side.characters:
        raise ValueError("more wrong than there were")
    return side


def _beside(path: Path, what: str) -> Path:
    return path.with_name(f"{path.name}.{what}")


def _is_codes(codes: Any) -> bool:
    return (
        isinstance(codes, list)
        and bool(codes)
        and all(isinstance(c, str) and len(c) == 5 and not set(c) - {"0", "1"} for c in codes)
    )
