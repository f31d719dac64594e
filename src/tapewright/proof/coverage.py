"""What of the test plan the evidence covers: seen in the codes, not in what somebody says was done.

Each measure looks at one piece of evidence and gives how many characters of the wanted kind it holds. The pieces of
one phase are then added up, except where one piece must hold the whole (all codes, all pairs, the letters): there
their union counts.

    codes      00000 00000 00000 ...              longest run of blanks
    codes      01010 10101 01010 ...              longest run of R and Y by turns
    times      |   |   |      |   |               at full speed: the next start follows within 5 % of a character
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from tapewright.alphabets import Alphabet
from tapewright.proof.lines import Evidence
from tapewright.proof.plain import codes, mapping, mappings, number, reading

BLANK, LETTERS = "00000", "11111"
RY = frozenset({"01010", "10101"})
SINGLE_MARKS = frozenset("0" * n + "1" + "0" * (4 - n) for n in range(5))
SINGLE_SPACES = frozenset("1" * n + "0" + "1" * (4 - n) for n in range(5))
ALL_CODES, ALL_PAIRS = 32, 1024
#: A start that follows within this share of a character more than the character's own length is at full speed; one
#: that follows later than the other share came after a pause (our own choice).
FULL_SPEED, PAUSE = 1.05, 1.2
#: An end of a receiver's range counts as found when it is known to this, U = 2u, points of the scale (our own choice).
END_POINTS = 4.0
#: Within this of the wanted ten per cent a supply counts as set (our own choice).
SUPPLY_PERCENT, SUPPLY_LEEWAY = 10.0, 2.0


@dataclass(frozen=True, slots=True)
class Seen:
    """What one piece of evidence holds for one test: a number of characters, or the things of a set that were met."""

    characters: int = 0
    met: frozenset[str] = frozenset()


def codes_of(evidence: Evidence) -> list[list[str]]:
    """Return the runs of codes that were tried: one for a line, one for each strip of a tape.

    What was sent where that is known, else what came: a wrong code that came was not tried.
    """
    return [_tried(part) for part in (evidence.result, *mappings(evidence.result.get("strips")))]


def _tried(part: Mapping[str, Any]) -> list[str]:
    sent = [column.get("sent") for column in mappings(mapping(part.get("errors")).get("alignment"))]
    return codes(sent) or codes(part.get("codes"))


def _run(evidence: Evidence, wanted: frozenset[str], *, alternate: bool = False) -> int:
    longest = 0
    for run in codes_of(evidence):
        length, before = 0, ""
        for code in run:
            goes_on = code in wanted and not (alternate and code == before)
            length = length + 1 if goes_on else int(code in wanted)
            before, longest = code, max(longest, length)
    return longest


def _characters_met(evidence: Evidence, wanted: frozenset[str]) -> Seen:
    """Count codes of a set that stand among their own kind, and which of them were met."""
    found = [
        a
        for run in codes_of(evidence)
        for a, b in pairwise([*run, run[-1] if run else ""])
        if a in wanted and b in wanted
    ]
    return Seen(len(found), frozenset(found))


def _blank(evidence: Evidence, _: Alphabet) -> Seen:
    return Seen(_run(evidence, frozenset({BLANK})))


def _letters(evidence: Evidence, _: Alphabet) -> Seen:
    return Seen(_run(evidence, frozenset({LETTERS})))


def _ry(evidence: Evidence, _: Alphabet) -> Seen:
    return Seen(_run(evidence, RY, alternate=True))


def _single_marks(evidence: Evidence, _: Alphabet) -> Seen:
    return _whole_set(_characters_met(evidence, SINGLE_MARKS), SINGLE_MARKS)


def _single_spaces(evidence: Evidence, _: Alphabet) -> Seen:
    return _whole_set(_characters_met(evidence, SINGLE_SPACES), SINGLE_SPACES)


def _whole_set(seen: Seen, wanted: frozenset[str]) -> Seen:
    return Seen(seen.characters) if seen.met == wanted else Seen()


def _all_codes(evidence: Evidence, _: Alphabet) -> Seen:
    return Seen(met=frozenset(code for run in codes_of(evidence) for code in run))


def _all_pairs(evidence: Evidence, _: Alphabet) -> Seen:
    return Seen(met=frozenset(a + b for run in codes_of(evidence) for a, b in pairwise(run)))


def _pangram(evidence: Evidence, alphabet: Alphabet) -> Seen:
    letters = {code for code, sign in alphabet.letters.items() if isinstance(sign, str) and sign.isalpha()}
    return Seen(met=frozenset(code for run in codes_of(evidence) for code in run if code in letters))


def _intervals(evidence: Evidence) -> tuple[list[float], float | None]:
    """Return the times from start to start, s, and the length of a character, s (None when it is not known)."""
    starts = [number(c.get("start_s")) for c in mappings(evidence.result.get("characters"))]
    known = [start for start in starts if start is not None]
    speed = mapping(evidence.result.get("speed"))
    character_ms = number(mapping(speed.get("character_ms")).get("value"))
    return [b - a for a, b in pairwise(known)], character_ms / 1e3 if character_ms else None


def _full_speed(evidence: Evidence, _: Alphabet) -> Seen:
    intervals, character_s = _intervals(evidence)
    return Seen(sum(t <= FULL_SPEED * character_s for t in intervals) if character_s else 0)


def _hand_keyed(evidence: Evidence, _: Alphabet) -> Seen:
    if evidence.conditions.keyed == "hand":
        return Seen(sum(len(run) for run in codes_of(evidence)))
    intervals, character_s = _intervals(evidence)
    return Seen(sum(t >= PAUSE * character_s for t in intervals) if character_s else 0)


def _when(holds: Callable[[Evidence], bool]) -> "Measure":
    def measure(evidence: Evidence, _: Alphabet) -> Seen:
        return Seen(sum(len(run) for run in codes_of(evidence)) if holds(evidence) else 0)

    return measure


def _margin(evidence: Evidence, _: Alphabet) -> Seen:
    """Return the ends of the range that a sweep at proven speed found; one that lies beyond the scale is found too."""
    result = evidence.result
    if evidence.sort != "margin" or result.get("speed_proven") is not True or result.get("state") == "nowhere":
        return Seen()
    beyond = number(result.get("margin_at_least_percent")) is not None
    ends = {end: reading(result.get(f"orientation_{end}")) for end in ("low", "high")}
    return Seen(
        met=frozenset(
            end for end, at in ends.items() if (beyond if at is None else (at.expanded or math.inf) <= END_POINTS)
        )
    )


def _supply(evidence: Evidence, wanted_percent: float) -> bool:
    percent = evidence.conditions.supply_percent
    return percent is not None and abs(percent - wanted_percent) <= SUPPLY_LEEWAY


Measure = Callable[[Evidence, Alphabet], Seen]

#: how a test is seen to be done -> (measure, how many different things there are; None where characters are counted)
MEASURES: Mapping[str, tuple[Measure, int | None]] = {
    "blank": (_blank, None),
    "letters": (_letters, None),
    "ry": (_ry, None),
    "single-marks": (_single_marks, None),
    "single-spaces": (_single_spaces, None),
    "all-codes": (_all_codes, ALL_CODES),
    "all-pairs": (_all_pairs, ALL_PAIRS),
    "pangram": (_pangram, 26),
    "full-speed": (_full_speed, None),
    "hand-keyed": (_hand_keyed, None),
    "cold": (_when(lambda e: e.conditions.is_warm is False), None),
    "warm": (_when(lambda e: e.conditions.is_warm is True), None),
    "margin": (_margin, 2),
    "supply-low": (_when(lambda e: _supply(e, -SUPPLY_PERCENT)), None),
    "supply-high": (_when(lambda e: _supply(e, SUPPLY_PERCENT)), None),
}
