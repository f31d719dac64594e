"""The test plan of one machine: what to send, how long it takes, how much tape, and what of it is done.

    seconds = characters x length of a character        tape = characters x feed pitch

Length of a character and pitch are those measured on the machine as left, else the nominal ones; the plan says which.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tapewright.alphabets import Alphabet
from tapewright.number import Reading
from tapewright.proof.claims import USUAL_CLAIMS, Claim, claim
from tapewright.proof.coverage import MEASURES, Seen
from tapewright.proof.document import Plan, PlannedTest
from tapewright.proof.lines import Evidence
from tapewright.proof.plain import spoken
from tapewright.proof.planned_tests import PRACTICE, TESTS, PlanRow
from tapewright.reference.five_unit_tape import GRID_MM
from tapewright.reference.speeds import SAME_BAUD, usual_stop_units


@dataclass(frozen=True, slots=True)
class Pace:
    """How fast a machine is and how far it feeds.

    Attributes:
        name: of the machine, for the names of files.
        alphabet: what it prints.
        alphabet_key: its name on the command line.
        baud: nominal modulation rate.
        character_s: length of a character at full speed, s.
        pitch_mm: feed pitch.
        speed_from, pitch_from: where the two come from, in words.
    """

    name: str
    alphabet: Alphabet
    alphabet_key: str
    baud: float
    character_s: float
    pitch_mm: float
    speed_from: str
    pitch_from: str


START_AND_ELEMENTS = 6
UNITS = {"all-codes": "codes", "all-pairs": "pairs", "pangram": "letters", "margin": "ends"}


def make_plan(
    pace: Pace, pattern_lengths: Mapping[str, int], evidence: Sequence[Evidence] = (), one_in: int = 1000
) -> Plan:
    """Work the plan out.

    Args:
        pace: speed and feed of the machine.
        pattern_lengths: characters in each pattern once through.
        evidence: that of the machine as it now is.
        one_in: the claim wanted: fewer than 1 wrong in so many.

    Raises:
        ValueError: for a claim of fewer than 1 in 2.
    """
    wanted = claim(one_in, pace.character_s, pace.pitch_mm)
    tests = tuple(_planned(row, pace, pattern_lengths, evidence, wanted) for row in TESTS)
    return Plan(
        machine=pace.name,
        alphabet=pace.alphabet_key,
        baud=pace.baud,
        character_ms=1e3 * pace.character_s,
        character_from=pace.speed_from,
        pitch_mm=pace.pitch_mm,
        pitch_from=pace.pitch_from,
        source=str(PRACTICE),
        standing=PRACTICE.standing.value,
        seconds=sum(test.seconds for test in tests),
        tape_m=sum(test.tape_m for test in tests),
        wanted_one_in=one_in,
        tests=tests,
        claims=tuple(claim(n, pace.character_s, pace.pitch_mm) for n in sorted({*USUAL_CLAIMS, one_in})),
    )


def _planned(
    row: PlanRow, pace: Pace, lengths: Mapping[str, int], evidence: Sequence[Evidence], wanted: Claim
) -> PlannedTest:
    once = lengths[row.pattern]
    asked = wanted.clean_characters if row.characters is None else row.characters or once
    rounds = -(-asked // once)
    # the all-codes and the claim are sent whole rounds, the others end where the count does
    characters = rounds * once if row.characters in (None, 0) or row.pattern == "pangram" else asked
    have, lines, things = _seen(row, evidence, pace.alphabet)
    want = things or asked
    return PlannedTest(
        test=row.key,
        what=row.what,
        shows=row.shows,
        setting=row.setting,
        cautions=row.cautions,
        pattern=row.pattern,
        characters=characters,
        seconds=characters * pace.character_s,
        minutes_more=row.minutes_more,
        tape_m=characters * pace.pitch_mm / 1e3,
        command=_command(row, pace, characters) or None,
        check=_check(row, pace, characters),
        done="done" if have >= want else "in part" if have else "not done",
        have=min(have, want) if things else have,
        want=want,
        unit=UNITS.get(row.measure, "characters"),
        lines=lines,
    )


def _seen(row: PlanRow, evidence: Sequence[Evidence], alphabet: Alphabet) -> tuple[int, tuple[int, ...], int | None]:
    measure, things = MEASURES[row.measure]
    found = [(e.entry.number, measure(e, alphabet)) for e in evidence]
    lines = tuple(number for number, seen in found if seen != Seen())
    if things is None:
        return sum(seen.characters for _, seen in found), lines, None
    return len(frozenset().union(*(seen.met for _, seen in found))), lines, things


def _command(row: PlanRow, pace: Pace, characters: int) -> str:
    if row.key == "hand-keyed" or row.check:
        return ""
    file = "-".join([*"".join(c if c.isalnum() else " " for c in pace.name.lower()).split(), row.key]) or row.key
    other = f" --alphabet {pace.alphabet_key}" if pace.alphabet_key != "ita2" else ""
    return (
        f"tapewright line compose --pattern {row.pattern} --count {characters} --baud {pace.baud:.4g}{other}"
        f" -o {file}.wav"
    )


def _check(row: PlanRow, pace: Pace, characters: int) -> str:
    other = f" --alphabet {pace.alphabet_key}" if pace.alphabet_key != "ita2" else ""
    if row.check:
        return row.check.format(machine=quoted(pace.name))
    noted = f" {row.noted}" if row.noted else ""
    return (
        f"tapewright line read CAPTURE --nominal {pace.baud:.4g}{other} --expect pattern:{row.pattern}:{characters}"
        f' --machine {quoted(pace.name)} --phase "as left"{noted}'
    )


def quoted(name: str) -> str:
    """Return a name as it can be typed: in quotes unless it is one plain word."""
    return name if name.isalnum() and name.isascii() else '"' + "".join(c for c in name if c not in '"\\$`!%') + '"'


def usual_units(baud: float) -> float:
    """Return the length of a character in units: start, five elements and the usual stop."""
    return START_AND_ELEMENTS + usual_stop_units(baud)


def pace_from(
    name: str,
    alphabet_key: str,
    alphabet: Alphabet,
    baud: float,
    before: str,
    character_ms: Reading | None,
    pitch_mm: Reading | None,
) -> Pace:
    """Take measured speed and pitch where they are known, nominal ones elsewhere; `before` goes before the reason."""
    if abs(baud - 1 / 0.022) < SAME_BAUD:
        baud = 1 / 0.022  # the trade writes 45.45 or 45.5 and means a unit of 22 ms
    units = usual_units(baud)
    character_s, speed_from = units / baud, f"{before}nominal, {units:g} units at {baud:.4g} Bd"
    pitch, pitch_from = GRID_MM, "nominal, seen on secondary pages"
    if character_ms and character_ms.value:
        character_s, speed_from = character_ms.value / 1e3, f"measured, {spoken(character_ms)} a character"
    if pitch_mm and pitch_mm.value:
        pitch, pitch_from = pitch_mm.value, f"measured, {spoken(pitch_mm)}"
    return Pace(name, alphabet, alphabet_key, baud, character_s, pitch, speed_from, pitch_from)
