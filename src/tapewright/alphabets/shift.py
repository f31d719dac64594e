"""Letters and figures: the shift as a complete table, and text to codes and back."""

from collections.abc import Iterable, Mapping
from enum import Enum

from tapewright.alphabets.alphabet import SHOWN, Alphabet, Function


class Shift(Enum):
    """The case a machine stands in; it stays there until the other shift arrives."""

    LETTERS = "letters"
    FIGURES = "figures"


class Kind(Enum):
    """What a code does to the shift."""

    TO_LETTERS = "letter shift"
    TO_FIGURES = "figure shift"
    SPACES = "word space"
    PRINTS = "anything else"


#: (standing in, kind of code, machine unshifts on space) -> then standing in. Complete; a test counts it.
TRANSITIONS: Mapping[tuple[Shift, Kind, bool], Shift] = {
    (Shift.LETTERS, Kind.TO_LETTERS, False): Shift.LETTERS,
    (Shift.LETTERS, Kind.TO_FIGURES, False): Shift.FIGURES,
    (Shift.LETTERS, Kind.SPACES, False): Shift.LETTERS,
    (Shift.LETTERS, Kind.PRINTS, False): Shift.LETTERS,
    (Shift.FIGURES, Kind.TO_LETTERS, False): Shift.LETTERS,
    (Shift.FIGURES, Kind.TO_FIGURES, False): Shift.FIGURES,
    (Shift.FIGURES, Kind.SPACES, False): Shift.FIGURES,
    (Shift.FIGURES, Kind.PRINTS, False): Shift.FIGURES,
    (Shift.LETTERS, Kind.TO_LETTERS, True): Shift.LETTERS,
    (Shift.LETTERS, Kind.TO_FIGURES, True): Shift.FIGURES,
    (Shift.LETTERS, Kind.SPACES, True): Shift.LETTERS,
    (Shift.LETTERS, Kind.PRINTS, True): Shift.LETTERS,
    (Shift.FIGURES, Kind.TO_LETTERS, True): Shift.LETTERS,
    (Shift.FIGURES, Kind.TO_FIGURES, True): Shift.FIGURES,
    (Shift.FIGURES, Kind.SPACES, True): Shift.LETTERS,
    (Shift.FIGURES, Kind.PRINTS, True): Shift.FIGURES,
}

_KINDS = {
    Function.LETTER_SHIFT: Kind.TO_LETTERS,
    Function.FIGURE_SHIFT: Kind.TO_FIGURES,
    Function.SPACE: Kind.SPACES,
}


def kind_of(code: str, alphabet: Alphabet) -> Kind:
    """Say what a code does to the shift."""
    sign = alphabet.letters[code]
    return _KINDS.get(sign, Kind.PRINTS) if isinstance(sign, Function) else Kind.PRINTS


def shown(code: str, shift: Shift, alphabet: Alphabet) -> str:
    """Return how one code stands in decoded text in that case; shifts stand as nothing."""
    case = alphabet.figures if shift is Shift.FIGURES else alphabet.letters
    sign = case[code]
    return sign if isinstance(sign, str) else SHOWN[sign]


def decode_each(
    codes: Iterable[str], alphabet: Alphabet, *, unshift_on_space: bool = False, start: Shift = Shift.LETTERS
) -> list[tuple[Shift, str]]:
    """Return for each code the case it was met in and how it stands in the text (shape: one pair a code)."""
    steps: dict[Shift, dict[str, tuple[tuple[Shift, str], Shift]]] = {each: {} for each in Shift}
    step, out = steps[start], []
    shift = start
    for code in codes:
        if code not in step:
            after = TRANSITIONS[shift, kind_of(code, alphabet), unshift_on_space]
            step[code] = ((shift, shown(code, shift, alphabet)), after)
        pair, after = step[code]
        out.append(pair)
        if after is not shift:
            shift, step = after, steps[after]
    return out


def decode(
    codes: Iterable[str], alphabet: Alphabet, *, unshift_on_space: bool = False, start: Shift = Shift.LETTERS
) -> str:
    """Return the text that `codes` print. BLANK, BEL, WRU and national positions stand as visible signs."""
    each = decode_each(codes, alphabet, unshift_on_space=unshift_on_space, start=start)
    return "".join(text for _, text in each)


def encode(text: str, alphabet: Alphabet, *, unshift_on_space: bool = False) -> list[str]:
    r"""Return the codes that print `text`, with the shifts it needs and no others.

    Lower-case letters are sent as capitals; "\n" is sent as LF alone ("\r\n" as CR LF). The signs that
    `decode` shows for BLANK, BEL, WRU are taken back as those codes.

    Raises:
        ValueError: names the first character the alphabet cannot send.
    """
    codes: list[str] = []
    shift = Shift.LETTERS
    for place, character in enumerate(text.upper(), start=1):
        code, needed = _find(character, shift, alphabet)
        if code is None or needed is None:
            raise ValueError(f"character {place} ({character!r}) cannot be sent in {alphabet.name}")
        if needed is not shift:
            function = Function.FIGURE_SHIFT if needed is Shift.FIGURES else Function.LETTER_SHIFT
            codes.append(_must(alphabet.code_of_function(function)))
            shift = needed
        codes.append(code)
        shift = TRANSITIONS[shift, kind_of(code, alphabet), unshift_on_space]
    return codes


def _find(character: str, shift: Shift, alphabet: Alphabet) -> tuple[str | None, Shift | None]:
    """Find a code for `character`, without a change of case if there is one."""
    other = Shift.FIGURES if shift is Shift.LETTERS else Shift.LETTERS
    for case in (shift, other):
        signs = alphabet.figures if case is Shift.FIGURES else alphabet.letters
        code = alphabet.code_of(character, figures=case is Shift.FIGURES)
        if code is None:
            function = next((f for f, text in SHOWN.items() if text == character), None)
            code = next((c for c, sign in signs.items() if function and sign is function), None)
        if code is not None:
            return code, case
    return None, None


def _must(code: str | None) -> str:
    if code is None:
        raise ValueError("this alphabet has no code for a shift")
    return code
