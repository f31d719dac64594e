"""Which reading direction looks like a message: letters after letters, shifts that make sense, CR before LF.

The codes are read once each way with one small model of how operators type, and the natural logarithm of the ratio of
the two likelihoods is the evidence. It knows no words. What it uses:

- which letter follows which (space included), averaged over eight languages: letter_pairs.py;
- CR comes before LF, seldom the other way;
- a shift is sent when it is needed and seldom twice, so read backwards whole words turn into figures;
- in figures, digits are common and signs are not.

How likely one letter follows another in plain European prose. Made by scripts/letter_pairs.py.

Row: the letter before; column: the letter after; both in the order of SYMBOLS, space first. A digit is minus
the natural logarithm of the probability, in steps of 0.75: 0 is sure, 9 is about one in a thousand.
"""

from collections.abc import Sequence

from tapewright.alphabets.alphabet import Alphabet, Function
from tapewright.alphabets.shift import TRANSITIONS, Shift, kind_of

SYMBOLS = " ABCDEFGHIJKLMNOPQRSTUVWXYZ"
STEP = 0.75
ROWS = (
    "934433455486444556544544966",
    "255546657499453667334549766",
    "557772777477377277374577757",
    "537774772475677277675677777",
    "238862888388688488568488888",
    "267555757497452988334777777",
    "247774577477777377273477777",
    "337752774377473477757477777",
    "328882888386588488454488888",
    "345453647857463568433868788",
    "335553355553553555555555555",
    "336662666666366366466366666",
    "338852586386368488865558866",
    "225772777477774447757557777",
    "149534549499976399944679976",
    "358446567687543488234386888",
    "336664566366366266356366666",
    "555555555555555555555155555",
    "235732967397654499644679999",
    "158483885486888458842688888",
    "238882883488888488455686868",
    "446673566477442777333657577",
    "427771777377777377477777777",
    "526662663266666366666466666",
    "335555555555355535553555555",
    "166663646666666466666666666",
    "336664666366666366666464664",
)


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
    """Return how much more likely the codes are in this order than in the reverse, in nats (natural logarithm)."""
    return DISCOUNT * (cost(codes[::-1], alphabet) - cost(codes, alphabet))


def looks_like_text(codes: Sequence[str], alphabet: Alphabet, nats: float) -> bool:
    """Return whether the likelier reading is likely enough as such; random codes cost more than 4 nats each."""
    low, high = _without_leader(codes, alphabet)
    chosen = codes if nats > 0 else codes[::-1]
    return high - low > 0 and cost(chosen, alphabet) / (high - low) < TEXT_BELOW_NATS


def cost(codes: Sequence[str], alphabet: Alphabet) -> float:
    """Return minus the logarithm of the likelihood of a reading; blanks and LTRS at both ends are leader, and free."""
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
