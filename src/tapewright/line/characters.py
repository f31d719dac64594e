"""Characters as they came: code, sign, own speed, stop, and what is doubtful about them."""

import math
from collections.abc import Container

import numpy as np

from tapewright.alphabets import Alphabet
from tapewright.alphabets.shift import Shift, decode_each
from tapewright.line.document import Character
from tapewright.line.frames import ELEMENTS, Frames
from tapewright.line.instants import Instants
from tapewright.line.speed import CharacterSpeeds
from tapewright.line.transitions import Transitions
from tapewright.number import Reading, missing

#: A transition this far from its boundary, in units, nearly makes another code of the character.
DOUBTFUL_UNITS = 0.4


def list_characters(
    frames: Frames,
    instants: Instants,
    speeds: CharacterSpeeds,
    line: Transitions,
    alphabet: Alphabet,
    unit_s: float,
    *,
    unshift_on_space: bool,
    beside_a_gap: Container[int] = (),
) -> tuple[Character, ...]:
    """Return every character with its notes."""
    codes = frames.codes
    five = frames.elements.shape[1] == ELEMENTS  # other codes have no letters in the tables here
    each = (
        decode_each(codes, alphabet, unshift_on_space=unshift_on_space)
        if five
        else [(Shift.LETTERS, None)] * len(codes)
    )
    named: dict[tuple[str, bool], str] = {}  # by the fact: an Enum is slow to look up
    place = instants.elapsed_s / unit_s / frames.pace[instants.frame]
    doubtful = instants.frame[np.abs(place - instants.boundary) > DOUBTFUL_UNITS]
    doubtful_at = set(doubtful.tolist())
    too_few = missing("ms", "too few instants in this character")
    out = []
    last, open_end = len(codes) - 1, open_end_of(frames, line, unit_s)
    complete, stopped, starts = frames.complete.tolist(), frames.stopped.tolist(), frames.start_s.tolist()
    units, unit_us = (1e3 * speeds.unit_s).tolist(), (1e3 * speeds.unit_u_s).tolist()
    stops = speeds.stop_units.tolist()
    for i, (code, (shift, _)) in enumerate(zip(codes, each, strict=True)):
        notes = []
        met = (code, shift is Shift.FIGURES)
        if met not in named:
            named[met] = name(code, shift, alphabet) if five else ""
        if not complete[i]:
            notes.append("cut off at the end of the recording")
        elif i == last and open_end is not None:
            notes.append(open_end)
        if not stopped[i]:
            notes.append("no stop")
        if i in doubtful_at:
            notes.append("a transition lies near the middle of an element: the code is doubtful")
        if i in beside_a_gap:
            notes.append("time is missing from the recording beside this character: the code is doubtful")
        if i == 0 and starts[0] - line.begin_s < 0.5 * unit_s:
            notes.append("the recording begins here: may be cut off")
        out.append(
            Character(
                start_s=starts[i],
                code=code,
                letter_or_figure=named[met],
                unit_ms=Reading(units[i], unit_us[i], "ms", 1) if math.isfinite(units[i]) else too_few,
                stop_units=stops[i] if math.isfinite(stops[i]) else None,
                notes=tuple(notes),
            )
        )
    return tuple(out)


def open_end_of(frames: Frames, line: Transitions, unit_s: float) -> str | None:
    """Say what is known of the last character when the recording ends within it; None where it does not."""
    elements = frames.elements.shape[1]
    if frames.complete.size and not frames.complete[-1]:
        return "the recording ends within the last character, which is left out of the text"
    if not frames.start.size or not line.rests_after_end:
        return None
    held = round((line.end_s - float(frames.start_s[-1])) / unit_s)
    if held > elements + 1:
        return None
    rest = {elements + 1: "its stop is", elements: f"element {elements} and its stop are"}.get(
        held, f"elements {held} {'and' if held == elements - 1 else 'to'} {elements} and its stop are"
    )
    return f"the list ends with a change to mark in the last character: {rest} taken to have stayed on mark, not shown"


def name(code: str, shift: Shift, alphabet: Alphabet) -> str:
    """Name what the code does in that case: the character, or the function by its usual short name."""
    sign = (alphabet.figures if shift is Shift.FIGURES else alphabet.letters)[code]
    return sign if isinstance(sign, str) else sign.value
