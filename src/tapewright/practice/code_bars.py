"""What the code bars make of the key that was pressed, before any contact moves."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np


@dataclass(frozen=True, slots=True)
class CodeBar:
    """One bar and the lever it moves.

    Attributes:
        stuck: "mark" or "space" when it always stands there, None when it moves.
        misses_mark: chance that it does not come to mark when it should.
        misses_space: chance that it does not go back to space.
        left_over: chance that a mark of the character before stays for this one.
    """

    stuck: Literal["mark", "space"] | None = None
    misses_mark: float = 0.0
    misses_space: float = 0.0
    left_over: float = 0.0


def selected(codes: Sequence[str], bars: Sequence[CodeBar], generator: np.random.Generator) -> list[str]:
    """Return the codes that the bars really select, one for each code keyed."""
    columns = [_one_bar([code[n] == "1" for code in codes], bar, generator) for n, bar in enumerate(bars)]
    return ["".join("1" if mark else "0" for mark in row) for row in zip(*columns, strict=True)]


def _one_bar(wanted: Sequence[bool], bar: CodeBar, generator: np.random.Generator) -> list[bool]:
    if bar.stuck:
        return [bar.stuck == "mark"] * len(wanted)
    chance = generator.random((len(wanted), 2))
    stands, out = False, []
    for mark, (miss, stay) in zip(wanted, chance, strict=True):
        stays = stands and not mark and stay < bar.left_over
        stands = stays or (miss >= bar.misses_mark if mark else miss < bar.misses_space)
        out.append(bool(stands))
    return out
