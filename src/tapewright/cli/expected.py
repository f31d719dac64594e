"""`--expect TEXT|@FILE`: what should have been sent or punched, as codes."""

from pathlib import Path

from tapewright.core.alphabets import Alphabet, encode
from tapewright.errors import InputError, WrongUseError


def expected_codes(given: str | None, alphabet: Alphabet) -> tuple[str, ...] | None:
    """Give the codes of the expected text, None when none was given.

    Raises:
        WrongUseError: when the alphabet cannot send the text.
        InputError: when the file is not text.
    """
    if given is None:
        return None
    text = given
    if given.startswith("@"):
        try:
            text = Path(given[1:]).read_text(encoding="utf-8").rstrip("\n")
        except UnicodeDecodeError as why:
            raise InputError(given[1:], expected="text in UTF-8", found=str(why)) from None
    try:
        return tuple(encode(text, alphabet))
    except ValueError as why:
        raise WrongUseError(f"--expect: {why}") from None
