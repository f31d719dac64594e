"""What was sent, as codes: a text, or a test pattern by its name.

pattern:NAME          once through, as `line compose --pattern NAME` sends it
pattern:NAME:COUNT    so many characters of it
"""

from tapewright.alphabets import Alphabet, encode
from tapewright.errors import WrongUseError

#: A text for a machine is sent in capitals, so small letters cannot be taken for one.
PATTERN = "pattern:"
MOST_CHARACTERS = 250_000


def expected_codes(
    text: str | None, alphabet: Alphabet, *, unshift_on_space: bool = False
) -> tuple[str, ...] | None:
    """Return the codes of the expected text or test pattern, None when none was given.

    Raises:
        WrongUseError: when the alphabet cannot send the text, or there is no such pattern.
    """
    if text is None:
        return None
    if text.startswith(PATTERN):
        return _pattern(text.removeprefix(PATTERN), alphabet)
    try:
        return tuple(encode(text, alphabet, unshift_on_space=unshift_on_space))
    except ValueError as reason:
        raise WrongUseError(f"--expect: {reason}.") from reason


def _pattern(said: str, alphabet: Alphabet) -> tuple[str, ...]:
    # the patterns are texts and no simulated truth, so measuring may know them
    from tapewright.message.test_texts import PATTERNS, pattern

    name, colon, count = said.partition(":")
    number = int(count) if count.isascii() and count.isdigit() and len(count) < 10 else 0
    if name not in PATTERNS or (colon and not 0 < number <= MOST_CHARACTERS):
        raise WrongUseError(
            f"--expect pattern:{said}: expected pattern:NAME or pattern:NAME:COUNT, a name of {', '.join(PATTERNS)}, "
            f"a count of at most {MOST_CHARACTERS}."
        )
    return tuple(pattern(name, alphabet, number or None))
