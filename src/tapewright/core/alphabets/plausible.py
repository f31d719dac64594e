"""Which reading direction looks like a message: letters after letters, shifts that make sense, CR before LF.

The codes are read once each way with one small model of how operators type, and the natural logarithm of the ratio of
the two likelihoods is the evidence. It knows no words. What it uses:

- which letter follows which (space included), averaged over eight languages: letter_pairs.py;
- CR comes before LF, seldom the other way;
- a shift is sent when it is needed and seldom twice, so read backwards whole words turn into figures;
- in figures, digits are common and signs are not.
"""

from collections.abc import Sequence

from tapewright.core.alphabets.alphabet import Alphabet, Function
from tapewright.core.alphabets.letter_pairs import ROWS, STEP, SYMBOLS
from tapewright.core.alphabets.shift import TRANSITIONS, Shift, kind_of

#: Evidence (nats) from which a direction counts as sure: odds of about 400 to 1.
SURE_NATS = 6.0
#: The model takes neighbouring pairs as independent, which they are not: evidence is taken at this share.
DISCOUNT = 0.7

#: Plain text costs 2.6 to 3.4 nats a code in this model, random codes 4.1 and more (measured with it).
TEXT_BELOW_NATS = 3.65

_PLACE = {symbol: n for n, symbol in enumerate(SYMBOLS)}
_DIGIT, _SIGN, _RARE = 2.6, 4.0, 6.5
#: Cost of a function code after another code; costs are minus natural logarithms, common practice, no source.
_AFTER_CR, _CR, _LONE_LF, _SHIFT, _IDLE_SHIFT, _BLANK = 0.4, 3.5, 5.0, 3.0, 4.5, 5.0


def evidence_for_forward(codes: Sequence[str], alphabet: Alphabet) -> float:
    """Give how much more likely the codes are in this order than in the reverse, in nats (natural logarithm)."""
    return DISCOUNT * (cost(codes[::-1], alphabet) - cost(codes, alphabet))


def looks_like_text(codes: Sequence[str], alphabet: Alphabet, nats: float) -> bool:
    """Say whether the likelier reading is likely enough as such; random codes cost more than 4 nats each."""
    low, high = _without_leader(codes, alphabet)
    chosen = codes if nats > 0 else codes[::-1]
    return high - low > 0 and cost(chosen, alphabet) / (high - low) < TEXT_BELOW_NATS


def cost(codes: Sequence[str], alphabet: Alphabet) -> float:
    """Give minus the logarithm of the likelihood of a reading; blanks and LTRS at both ends are leader, and free."""
    low, high = _without_leader(codes, alphabet)
    shift = _first_shift(codes[:low], alphabet)
    total, before, letter = 0.0, None, " "
    for code in codes[low:high]:
        sign = alphabet.letters[code]
        total += _cost_of(code, before, shift, letter, alphabet)
        shift = TRANSITIONS[shift, kind_of(code, alphabet), False]
        before = code
        if isinstance(sign, str) and shift is Shift.LETTERS:
            letter = sign
        elif sign not in (Function.LETTER_SHIFT, Function.FIGURE_SHIFT):
            letter = " "
    # the end of the message counts like its beginning, or one direction would get it for nothing
    return total + STEP * int(ROWS[_PLACE[letter]][0])


def _first_shift(leader: Sequence[str], alphabet: Alphabet) -> Shift:
    shift = Shift.LETTERS
    for code in leader:
        shift = TRANSITIONS[shift, kind_of(code, alphabet), False]
    return shift


def _without_leader(codes: Sequence[str], alphabet: Alphabet) -> tuple[int, int]:
    idle = {alphabet.code_of_function(f) for f in (Function.BLANK, Function.LETTER_SHIFT)}
    low, high = 0, len(codes)
    while low < high and codes[low] in idle:
        low += 1
    while high > low and codes[high - 1] in idle:
        high -= 1
    return low, high


def _cost_of(code: str, before: str | None, shift: Shift, letter: str, alphabet: Alphabet) -> float:
    sign = alphabet.letters[code]
    if isinstance(sign, Function) and sign is not Function.SPACE:
        return _function_cost(sign, before, shift, alphabet)
    if shift is Shift.LETTERS or sign is Function.SPACE:
        this = sign if isinstance(sign, str) else " "
        return STEP * int(ROWS[_PLACE[letter]][_PLACE[this]])
    figure = alphabet.figures[code]
    if isinstance(figure, Function) or figure in "=+;\"&#$!":
        return _RARE
    return _DIGIT if figure.isdigit() else _SIGN


def _function_cost(sign: Function, before: str | None, shift: Shift, alphabet: Alphabet) -> float:
    previous = alphabet.letters[before] if before else None
    if sign is Function.LINE_FEED:
        return _AFTER_CR if previous in (Function.CARRIAGE_RETURN, Function.LINE_FEED) else _LONE_LF
    if sign is Function.CARRIAGE_RETURN:
        return _CR if previous is not Function.LINE_FEED else _LONE_LF
    if sign is Function.BLANK:
        return _BLANK
    wanted = Shift.FIGURES if sign is Function.LETTER_SHIFT else Shift.LETTERS
    if previous is sign:
        return 1.0
    return _SHIFT if shift is wanted else _IDLE_SHIFT
