"""Characters as they came: code, sign, own speed, stop, and what is doubtful about them."""

import numpy as np

from tapewright.core.alphabets import Alphabet
from tapewright.core.alphabets.shift import Shift, decode_each
from tapewright.core.line.frames import Frames
from tapewright.core.line.instants import Instants
from tapewright.core.line.line_result import Character
from tapewright.core.line.speed import CharacterSpeeds
from tapewright.core.line.transitions import Transitions
from tapewright.core.measurement import Reading, missing

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
) -> tuple[Character, ...]:
    """Give every character with its notes."""
    each = decode_each(frames.codes, alphabet, unshift_on_space=unshift_on_space)
    doubtful = instants.frame[np.abs(instants.deviation_units(unit_s)) > DOUBTFUL_UNITS]
    doubtful_at = set(doubtful.tolist())
    out = []
    for i, (code, (shift, _)) in enumerate(zip(frames.codes, each, strict=True)):
        notes = []
        if not frames.complete[i]:
            notes.append("cut off at the end of the recording")
        if not frames.stopped[i]:
            notes.append("no stop")
        if i in doubtful_at:
            notes.append("a transition lies near the middle of an element: the code is doubtful")
        if i == 0 and frames.start_s[0] - line.begin_s < 0.5 * unit_s:
            notes.append("the recording begins here: may be cut off")
        unit, stop = speeds.unit_s[i], speeds.stop_units[i]
        out.append(
            Character(
                start_s=float(frames.start_s[i]),
                code=code,
                shown=name(code, shift, alphabet),
                unit_ms=Reading(1e3 * float(unit), 1e3 * float(speeds.unit_u_s[i]), "ms", 1)
                if np.isfinite(unit)
                else missing("ms", "too few instants in this character"),
                stop_units=float(stop) if np.isfinite(stop) else None,
                notes=tuple(notes),
            )
        )
    return tuple(out)


def name(code: str, shift: Shift, alphabet: Alphabet) -> str:
    """Name what the code does in that case: the character, or the function by its usual short name."""
    sign = (alphabet.figures if shift is Shift.FIGURES else alphabet.letters)[code]
    return sign if isinstance(sign, str) else sign.value


def text_of(characters: tuple[Character, ...], frames: Frames, alphabet: Alphabet, *, unshift_on_space: bool) -> str:
    """Give the text of all complete characters."""
    codes = [c.code for c, whole in zip(characters, frames.complete, strict=True) if whole]
    return "".join(text for _, text in decode_each(codes, alphabet, unshift_on_space=unshift_on_space))


