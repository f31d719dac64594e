"""The usual test texts as codes, each with what it is good for.

Single marks and single spaces follow from the code table; R and Y are each other's complement, so every element
changes with every character; a pangram's wording is from memory. `all_pairs` is a de Bruijn sequence: every code
stands once behind every other and behind itself (N. G. de Bruijn 1946, from memory), so that an error which
depends on the character before cannot hide.
"""

from collections.abc import Callable
from itertools import cycle, islice

from tapewright.alphabets import Alphabet, encode

PANGRAM = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG"
#: the five codes with one mark: E, LF, SP, CR, T; the five with one space: V, X, FIGS, Q, K
SINGLE_MARKS = tuple("00000"[:n] + "1" + "00000"[n + 1 :] for n in range(5))
SINGLE_SPACES = tuple("11111"[:n] + "0" + "11111"[n + 1 :] for n in range(5))


def all_codes() -> list[str]:
    """Return the 32 codes in the order of their value."""
    return [format(n, "05b") for n in range(32)]


def all_pairs() -> list[str]:
    """Return 1025 codes in which each of the 1024 ordered pairs of codes stands next to each other exactly once."""
    codes = all_codes()
    ring = [code for n, first in enumerate(codes) for code in (first, *_pairs(first, codes[n + 1 :]))]
    return [*ring, ring[0]]


def _pairs(first: str, rest: list[str]) -> list[str]:
    return [code for second in rest for code in (first, second)]


#: name -> (its codes once through, characters sent when nothing else is wanted, what it is good for)
PATTERNS: dict[str, tuple[Callable[[Alphabet], list[str]], int | None, str]] = {
    "blank": (lambda _: ["00000"], 100, "longest space: speed, start and stop alone"),
    "letters": (lambda _: ["11111"], 100, "longest mark: split marks, bounce hidden by overlap"),
    "ry": (lambda _: ["01010", "10101"], 100, "every element changes every time"),
    "single-marks": (lambda _: list(SINGLE_MARKS), 100, "one mark each: pull-in, each contact by itself"),
    "single-spaces": (lambda _: list(SINGLE_SPACES), 100, "one space each: release"),
    "all-codes": (lambda _: all_codes(), None, "the 32 codes"),
    "all-pairs": (lambda _: all_pairs(), None, "every code behind every code"),
    "pangram": (lambda alphabet: encode(PANGRAM, alphabet), None, "every letter, and people can read it"),
}


def pattern(name: str, alphabet: Alphabet, count: int | None = None) -> list[str]:
    """Return `count` characters of a pattern, going round as often as needed; its own length when None."""
    make, usual, _ = PATTERNS[name]
    codes = make(alphabet)
    return list(islice(cycle(codes), count or usual or len(codes)))
