"""Is the element order turned round somewhere between machine and reader? The text tells, if it is text.

R, Y and six other codes read the same both ways, so a run of RY never shows it; running text does.
"""

from collections.abc import Sequence

from tapewright.core.alphabets import Alphabet, decode
from tapewright.core.alphabets.alphabet import reversed_order
from tapewright.core.alphabets.plausible import DISCOUNT, SURE_NATS, cost, looks_like_text
from tapewright.core.line.capture import Suspicion

#: Characters that are enough to tell; and those shown of the text.
ENOUGH, SHOWN_CHARACTERS = 600, 24


def doubt_order(codes: Sequence[str], alphabet: Alphabet) -> tuple[Suspicion, ...]:
    """Say when the codes make plain text with their elements in reverse order, and none as they stand."""
    codes = codes[:ENOUGH]
    other = [reversed_order(code) for code in codes]
    nats = DISCOUNT * (cost(codes, alphabet) - cost(other, alphabet))
    if nats < SURE_NATS or not looks_like_text(other, alphabet, 1.0):
        return ()
    text = " ".join(decode(other, alphabet).split())[:SHOWN_CHARACTERS]
    return (
        Suspicion(
            "reversed element order",
            f"read with element 5 first the codes are plain text ({text} ...), as they stand they are not",
            "Look whether the contacts are wired, or the tape was punched, in the opposite order.",
        ),
    )
