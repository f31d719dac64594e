r"""A tape as it should be: the outline and every hole at its nominal place, to be drawn 1:1.

Millimetres, face up, first row left, y downwards from the two-hole edge:

    .--------------------------.  0
    |  1   o                   |
    |  2      o                |
    |  f . . . .               |  7.50
    |  3      o                |
    '--------------------------'  17.46

Banner letters are holes that show the letter itself, for a leader that people can read; they are 5 holes high and
carry no message.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tapewright.reference import five_unit_tape as tape

#: Rows of nothing but feed holes before the first and after the last code.
LEADER_ROWS = 4
END_MM = 3.0
#: Rows of nothing between a banner and the message.
AFTER_BANNER_ROWS = 6
#: Each banner letter as it looks, a line for each track from 1 to 5; the feed holes run between lines 2 and 3. Drawn
#: for this program.
LETTERS = {
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


@dataclass(frozen=True, slots=True)
class DrawnHole:
    """A hole: centre and diameter, mm, from the top left corner of the tape."""

    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class DrawnTape:
    """A tape to draw.

    Attributes:
        length_mm: along.
        width_mm: across.
        holes: feed and code holes.
        codes: the rows, leader and banner among them.
        first_row_mm: place of the first row along.
    """

    length_mm: float
    width_mm: float
    holes: tuple[DrawnHole, ...]
    codes: tuple[str, ...]
    first_row_mm: float


def draw_tape(codes: Sequence[str], *, advanced: bool = False, banner: str = "") -> DrawnTape:
    """Lay out a tape.

    Args:
        codes: the message, element 1 first.
        advanced: feed holes ahead of their rows, leading edges flush, instead of in line.
        banner: text shown in readable letters of holes before the message.
    """
    idle = ("00000",)
    head = [*banner_codes(banner), *idle * AFTER_BANNER_ROWS] if banner else []
    rows = (*idle * LEADER_ROWS, *head, *codes, *idle * LEADER_ROWS)
    first = END_MM + tape.GRID_MM / 2
    middle = tape.FEED_TO_TWO_HOLE_EDGE_MM
    ahead = tape.ADVANCED_MM if advanced else 0.0
    holes = []
    for n, code in enumerate(rows):
        x = first + n * tape.GRID_MM
        holes.append(DrawnHole(x - ahead, middle, tape.FEED_HOLE_MM))
        holes += [DrawnHole(x, middle + step * tape.GRID_MM, tape.CODE_HOLE_MM)
                  for step, bit in zip(tape.TRACK_STEPS, code, strict=True) if bit == "1"]  # fmt: skip
    length = 2 * first + (len(rows) - 1) * tape.GRID_MM
    return DrawnTape(length, tape.WIDTH_MM, tuple(holes), rows, first)


def banner_codes(text: str) -> list[str]:
    """Return the rows that show `text`, one blank row between letters.

    Raises:
        ValueError: names the first character that has no shape here.
    """
    rows: list[str] = []
    for character in text.upper():
        if character not in LETTERS:
            raise ValueError(f"there is no banner letter for {character!r}")
        rows += [*_columns(LETTERS[character].split("/")), "00000"]
    return rows[:-1]


def _columns(lines: list[str]) -> Iterable[str]:
    return ("".join("1" if mark == "#" else "0" for mark in column) for column in zip(*lines, strict=True))
