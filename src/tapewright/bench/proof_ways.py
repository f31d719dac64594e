"""What a person at the page presses to close a gap of the proof: the proof itself names commands.

a gap's "do" --a test of the plan, or a word of a command--> words, the page to go to, the signal to take
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

#: a longer one would be a file of more than 100 MB
MOST_CHARACTERS = 6000


class Way(NamedTuple):
    """Words and the page under the machine's own path; no page where the bench cannot do it."""

    words: str
    see: str | None


#: what a "do" holds -> the way; the first that fits
WAYS: tuple[tuple[str, Way], ...] = (
    ("--expect", Way("Drop the recording again, with the text that was sent typed under \"What was sent\"",
                     "line/newest#drop")),
    ("line margin", Way("Not on a page yet: type this in a terminal", None)),
    ("line read", Way("Record the line, then drop the recording on the line page", "line/newest#drop")),
    ("tape read", Way("Scan or photograph a tape, then drop the picture on the tape page", "tape/newest#drop")),
    ("drive read", Way("Record the coil's current, then read it on the drive page", "drive#read")),
    ("sheet enter", Way("Measure on the gauges page", "gauges")),
    ("let it run under watch", Way("Let it run under watch on the live page", "live")),
    ("what is seen and heard", Way("Answer on the questions page", "questions")),
)  # fmt: skip
SIGNAL = Way("Take the signal and play it through a loop keyer, or strike the keys; record the line, then drop the "
             "recording, taken as left, on the line page", "line/newest#drop")  # fmt: skip


def with_ways(gaps: Sequence[Mapping[str, Any]], plan: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return gaps, each with its way on the page: words, see, signal (key of the test), command; None where none."""
    signals = {test["command"]: test for test in plan if test["command"]}
    return [{**gap, "way": _way(str(gap["do"] or ""), signals)} for gap in gaps]


def _way(do: str, signals: Mapping[str, Mapping[str, Any]]) -> dict[str, Any] | None:
    if do in signals:
        test = signals[do]
        if test["characters"] > MOST_CHARACTERS:
            words = "Too long for the page: compose the signal in a terminal"
            return {"words": words, "see": None, "signal": None, "command": do}
        return {"words": SIGNAL.words, "see": SIGNAL.see, "signal": test["test"], "command": None}
    way = next((way for part, way in WAYS if part in do), None)
    if way is None:
        return None
    return {"words": way.words, "see": way.see, "signal": None, "command": do if way.see is None else None}
