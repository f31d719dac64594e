"""The text that was sent, as codes."""

from tapewright.core.alphabets import Alphabet, encode
from tapewright.errors import WrongUseError


def expected_codes(
    text: str | None, alphabet: Alphabet, *, unshift_on_space: bool = False
) -> tuple[str, ...] | None:
    """Give the codes of the expected text, None when none was given.

    Raises:
        WrongUseError: when the alphabet cannot send the text.
    """
    if text is None:
        return None
    try:
        return tuple(encode(text, alphabet, unshift_on_space=unshift_on_space))
    except ValueError as reason:
        raise WrongUseError(f"--expect: {reason}.") from reason
