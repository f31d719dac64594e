"""Letters made of holes, five tracks high: read with the tape laid face up, the two-hole edge on top.

Each letter is given as it looks, a line for each track from 1 to 5; the feed holes run between lines 2 and 3.
Drawn for this program.
"""

from collections.abc import Iterable

_LETTERS = {
    "A": " ## /#  #/####/#  #/#  #", "B": "### /#  #/### /#  #/### ", "C": " ###/#   /#   /#   / ###",
    "D": "### /#  #/#  #/#  #/### ", "E": "####/#   /### /#   /####", "F": "####/#   /### /#   /#   ",
    "G": " ###/#   /# ##/#  #/ ###", "H": "#  #/#  #/####/#  #/#  #", "I": "###/ # / # / # /###",
    "J": "  ##/   #/   #/#  #/ ## ", "K": "#  #/# # /##  /# # /#  #", "L": "#   /#   /#   /#   /####",
    "M": "#   #/## ##/# # #/#   #/#   #", "N": "#  #/## #/# ##/#  #/#  #", "O": " ## /#  #/#  #/#  #/ ## ",
    "P": "### /#  #/### /#   /#   ", "Q": " ## /#  #/#  #/# ##/ ###", "R": "### /#  #/### /# # /#  #",
    "S": " ###/#   / ## /   #/### ", "T": "#####/  #  /  #  /  #  /  #  ", "U": "#  #/#  #/#  #/#  #/ ## ",
    "V": "#   #/#   #/#   #/ # # /  #  ", "W": "#   #/#   #/# # #/## ##/#   #", "X": "#   #/ # # /  #  / # # /#   #",
    "Y": "#   #/ # # /  #  /  #  /  #  ", "Z": "####/  # / #  /#   /####", "0": " ## /#  #/#  #/#  #/ ## ",
    "1": " # /## / # / # /###", "2": "### /   #/ ## /#   /####", "3": "### /   #/ ## /   #/### ",
    "4": "#  #/#  #/####/   #/   #", "5": "####/#   /### /   #/### ", "6": " ## /#   /### /#  #/ ## ",
    "7": "####/   #/  # / #  / #  ", "8": " ## /#  #/ ## /#  #/ ## ", "9": " ## /#  #/ ###/   #/ ## ",
    " ": "  /  /  /  /  ", "-": "   /   /###/   /   ", ".": " / / / /#", "/": "   #/  # / #  /#   /#   ",
}  # fmt: skip


def banner_codes(text: str) -> list[str]:
    """Return the rows that show `text`, one blank row between letters.

    Raises:
        ValueError: names the first character that has no shape here.
    """
    rows: list[str] = []
    for character in text.upper():
        if character not in _LETTERS:
            raise ValueError(f"there is no banner letter for {character!r}")
        rows += [*_columns(_LETTERS[character].split("/")), "00000"]
    return rows[:-1]


def _columns(lines: list[str]) -> Iterable[str]:
    return ("".join("1" if mark == "#" else "0" for mark in column) for column in zip(*lines, strict=True))
