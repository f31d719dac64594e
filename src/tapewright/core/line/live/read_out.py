"""Codes read out as they come: the sign to show and the text, in the case the line stands in."""

from tapewright.core.alphabets.shift import Shift, decode_each
from tapewright.core.line.characters import name
from tapewright.core.line.line_result import LineSettings


class ReadOut:
    """Remembers which case the line stands in."""

    def __init__(self, settings: LineSettings) -> None:
        self._alphabet, self._unshift_on_space = settings.alphabet, settings.unshift_on_space
        self._shift = Shift.LETTERS

    def begin_anew(self) -> None:
        """Stand in letters again."""
        self._shift = Shift.LETTERS

    def read(self, code: str) -> tuple[str, str]:
        """Give a code's sign and its text in the case the line stands in; go on in the case it leaves."""
        (shift, text), (after, _) = decode_each(
            [code, code], self._alphabet, unshift_on_space=self._unshift_on_space, start=self._shift
        )
        self._shift = after
        return name(code, shift, self._alphabet), text
