"""What a setting may hold, and how it is read: from a command's word, a form's field, a keyword or the book alike.

    Number      45.45   45,45            one comma is a decimal comma; 48,000 may be either and is refused
    Numbers     2.0,3.0   2 3   2,5;3,5  blank and semicolon part; a comma parts where neither stands (decision 154)
    Whole   Choice   Text   Flag         a file: File in options.py, since only a command names files
    Named       3=1.5                    a name of a few and its value
    Several     any of these, more than once; in a form a line or a semicolon each

A kind reads text or the finished value and returns the finished value, so that reading twice changes nothing.
No kind opens a file: `@FILE` is the command's (options.py). A settings record is pure, as long as it holds no File.
"""

import math
import re
from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping, Sequence
from typing import Generic, TypeVar

T = TypeVar("T")

#: So much of what was found is shown.
SHOWN = 40
#: One comma before exactly three digits: 48,000 is 48 to one reader and 48000 to another; 0,125 is clear.
EITHER_COMMA = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")
YES, NO = frozenset({"on", "yes", "true", "1"}), frozenset({"off", "no", "false", "0"})


class NotOfKindError(ValueError):
    """Something that a kind cannot read: what was expected, what was found."""

    def __init__(self, expected: str, found: object) -> None:
        shown = repr(found)
        self.expected, self.found = expected, shown if len(shown) <= SHOWN + 2 else f"{shown[:SHOWN]}..."
        super().__init__(f"expected {self.expected}; found {self.found}")


class Kind(ABC, Generic[T]):
    """Base of the kinds.

    Attributes:
        expected: what may stand there, in words that go on after "expected".
        asked: how a form asks for it: "number", "text", "long text", "choice", "flag"; empty for not at all.
        metavar: what stands for it in the help of a command.
        words: the words it can hold, each with what a page calls it; empty where it is free.
    """

    expected: str = "a text"
    asked: str = "text"
    metavar: str = "TEXT"
    words: Mapping[str, str] = {}

    @abstractmethod
    def read(self, given: object) -> T:
        """Return the value of a text, or of a finished value.

        Raises:
            NotOfKindError: when it is neither.
        """

    def write(self, value: T) -> str:
        """Return the value as a text that reads back the same."""
        return str(value)

    def kept(self, value: T) -> object:
        """Return the value as the book keeps it, in JSON's own types."""
        return value

    def refusal(self, found: object) -> NotOfKindError:
        """Return the refusal of what was found."""
        return NotOfKindError(self.expected, found)


class Number(Kind[float]):
    """A finite number between two ends, both allowed.

    Args:
        low: least.
        high: largest.
        unit: as the words name it.
        exactly: numbers that stand for a value they only round, such as 45.45 for 1000/22.
    """

    asked, metavar = "number", "NUMBER"

    def __init__(
        self,
        low: float = -math.inf,
        high: float = math.inf,
        unit: str = "",
        exactly: Mapping[float, float] | None = None,
    ) -> None:
        self.low, self.high, self.exactly = low, high, exactly or {}
        self.expected = f"a number{_ends(low, high)}{f' {unit}' if unit else ''}"

    def read(self, given: object) -> float:
        """Return the number; a decimal comma will do."""
        number = _number(given)
        if number is None and isinstance(given, str) and EITHER_COMMA.fullmatch(given.strip()):
            raise NotOfKindError(f"{self.expected}, written with a point or without the comma", given)
        if number is None or not self.low <= (number := self.exactly.get(number, number)) <= self.high:
            raise self.refusal(given)
        return number

    def write(self, value: float) -> str:
        """Return the digits that read back the same."""
        return repr(value).removesuffix(".0")


def _ends(low: float | None, high: float | None) -> str:
    below, above = low is not None and math.isfinite(low), high is not None and math.isfinite(high)
    if below and above:
        return f" from {low:g} to {high:g}"
    return f" of at least {low:g}" if below else f" of at most {high:g}" if above else ""


def _number(given: object) -> float | None:
    """Return a finite number, None for anything else; True is none."""
    if isinstance(given, str):
        text = given.strip()
        if EITHER_COMMA.fullmatch(text) or text.count(",") > 1 or {",", "."} <= set(text):
            return None
        given = text.replace(",", ".")
    elif isinstance(given, bool) or not isinstance(given, int | float):
        return None
    try:
        number = float(given)
    except (ValueError, OverflowError):
        return None
    return number if math.isfinite(number) else None


class Whole(Kind[int]):
    """A whole number between two ends, both allowed; None for no end."""

    asked, metavar = "number", "NUMBER"

    def __init__(self, low: int | None = None, high: int | None = None) -> None:
        self.low, self.high = low, high
        self.expected = f"a whole number{_ends(low, high)}"

    def read(self, given: object) -> int:
        """Return the number."""
        number = _number(given)
        if number is None or number != int(number):
            raise self.refusal(given)
        whole = int(number)
        if (self.low is not None and whole < self.low) or (self.high is not None and whole > self.high):
            raise self.refusal(given)
        return whole


class Numbers(Kind[tuple[float, ...]]):
    """Several numbers in one text.

    Args:
        least: at least so many.
        most: at most so many; None for any number.
        each: what each may be.
        apart: the command takes each as a word of its own (`--scale 0 120`); `least` is then `most`.
    """

    metavar = "NUMBERS"

    def __init__(
        self, least: int = 1, most: int | None = None, each: Number | None = None, *, apart: bool = False
    ) -> None:
        self.least, self.most, self.each, self.apart = least, most, each or Number(), apart
        count = f"{least}" if least == most else f"{least} to {most}" if most else f"{least} or more"
        self.expected = f"{count} numbers such as 2.0; 3.0, each {self.each.expected}"

    def read(self, given: object) -> tuple[float, ...]:
        """Return the numbers."""
        pieces: Iterable[object] = [given]
        if isinstance(given, str):
            pieces = self.pieces(given)
        elif isinstance(given, Iterable):
            pieces = given
        try:
            numbers = tuple(self.each.read(piece) for piece in pieces)
        except NotOfKindError:
            raise self.refusal(given) from None
        if len(numbers) < self.least or (self.most is not None and len(numbers) > self.most):
            raise self.refusal(given)
        return numbers

    @staticmethod
    def pieces(text: str) -> list[str]:
        """Part a text into the texts of its numbers, by the rule of decision 154."""
        if re.search(r"[;\s]", text.strip()):
            return [piece for each in re.split(r"[;\s]+", text.strip()) if (piece := each.strip(","))]
        return text.strip().split(",")

    def write(self, value: tuple[float, ...]) -> str:
        """Return them with semicolons."""
        return "; ".join(self.each.write(number) for number in value)

    def kept(self, value: tuple[float, ...]) -> object:
        """Return them as a list."""
        return list(value)


class Choice(Kind[str]):
    """One of a few words.

    Args:
        words: the words; or each with what a page calls it.
    """

    asked = "choice"

    def __init__(self, words: Iterable[str] | Mapping[str, str]) -> None:
        self.words = dict(words) if isinstance(words, Mapping) else {word: word for word in words}
        self.metavar = f"[{'|'.join(self.words)}]"
        *first, last = self.words
        self.expected = f"{', '.join(first)} or {last}" if first else last

    def read(self, given: object) -> str:
        """Return the word."""
        word = given.strip() if isinstance(given, str) else None
        if word is None or word not in self.words:
            raise self.refusal(given)
        return word


class Text(Kind[str]):
    """Any text.

    Args:
        longest: at most so many characters.
        lines: it may have several; every end of line becomes CR LF, which is what a machine sends.
        from_file: at the command, @FILE stands for what the file holds.
    """

    def __init__(self, longest: int = 10_000_000, *, lines: bool = False, from_file: bool = False) -> None:
        self.longest, self.lines, self.from_file = longest, lines, from_file
        self.expected = f"a text of at most {longest} characters"
        self.asked = "long text" if lines else "text"
        self.metavar = "TEXT|@FILE" if from_file else "TEXT"

    def read(self, given: object) -> str:
        """Return the text; a number is written out, so that channel 2 is channel "2"."""
        if isinstance(given, int | float) and not isinstance(given, bool):
            given = f"{given}"
        if not isinstance(given, str) or len(given) > self.longest:
            raise self.refusal(given)
        return re.sub(r"\r?\n", "\r\n", given) if self.lines else given


class Flag(Kind[bool]):
    """Yes or no."""

    expected, asked, metavar = "yes or no", "flag", ""

    def read(self, given: object) -> bool:
        """Return the answer."""
        word = given.strip().lower() if isinstance(given, str) else ""
        if given is True or word in YES:
            return True
        if given is False or word in NO:
            return False
        raise self.refusal(given)

    def write(self, value: bool) -> str:
        """Return the answer as a word."""
        return "yes" if value else "no"


class Named(Kind[tuple[str, T]]):
    """A name of a few with its value, NAME=VALUE; a value alone is for the name `alone`."""

    def __init__(self, names: Iterable[str], each: Kind[T], alone: str | None = None) -> None:
        self.names, self.each, self.alone = tuple(names), each, alone
        self.metavar = f"NAME={each.metavar}"
        self.expected = f"NAME=VALUE with a name of {', '.join(self.names)} and {each.expected}"

    def read(self, given: object) -> tuple[str, T]:
        """Return name and value."""
        pair: Sequence[object] = given if isinstance(given, tuple | list) else ()
        if isinstance(given, str):
            name, equals, value = given.strip().partition("=")
            pair = (name.strip(), value) if equals else (self.alone, name)
        if len(pair) != 2 or not isinstance(pair[0], str) or pair[0] not in self.names:
            raise self.refusal(given)
        try:
            return pair[0], self.each.read(pair[1])
        except NotOfKindError:
            raise self.refusal(given) from None

    def write(self, value: tuple[str, T]) -> str:
        """Return NAME=VALUE."""
        return f"{value[0]}={self.each.write(value[1])}"

    def kept(self, value: tuple[str, T]) -> object:
        """Return both as a list."""
        return [value[0], self.each.kept(value[1])]


class Several(Kind[tuple[T, ...]]):
    """Any number of one kind; the command's option may stand several times."""

    asked = "long text"

    def __init__(self, each: Kind[T]) -> None:
        self.each, self.metavar, self.expected = each, each.metavar, each.expected

    def read(self, given: object) -> tuple[T, ...]:
        """Return all of them."""
        values: Iterable[object] = (given,)
        if isinstance(given, str):
            values = (piece for piece in re.split(r"[;\r\n]+", given) if piece.strip())
        elif isinstance(given, Mapping):
            values = given.items()
        elif isinstance(given, Iterable):
            values = given
        return tuple(self.each.read(value) for value in values)

    def write(self, value: tuple[T, ...]) -> str:
        """Return one a line."""
        return "\n".join(self.each.write(each) for each in value)

    def kept(self, value: tuple[T, ...]) -> object:
        """Return them as a list."""
        return [self.each.kept(each) for each in value]
