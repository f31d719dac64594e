"""The proof as data: one frozen dataclass a section, in the order of the pages.

    Identity       which machine
    FirstPage      what was wrong, what it does now, how sure, what was not shown
    Compared       as found beside as left
    Answer         each requirement with reading, doubt, limit, source, standing, verdict
    LineFigures    the line signal; TapeFigures: the tape
    ErrorCount     wrong characters with bound and N; Soak: long runs
    Said           what eye, ear and finger noticed; DeadCheck: electrical checks of the dead machine
    Instrument     what measured, and its doubt
    Gap            what was not tested; OpenPoint: what is open
    Caution        shown and acknowledged
    Trail          fingerprints, and how to work it all out again

Words in it are for people and end up on paper as they are; words that users wrote are marked as theirs where they
stand.
"""

from dataclasses import dataclass
from datetime import datetime

from tapewright.number import Reading, State
from tapewright.proof.plan import PlanOfTests


@dataclass(frozen=True, slots=True)
class Identity:
    """Which machine: its names and what is written of it, as (word, value) pairs in the order of the page."""

    name: str
    key: str
    facts: tuple[tuple[str, str], ...]
    intake: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """A verdict as the book holds it.

    Attributes:
        group: station of the sheet, or "line", "tape", "coil".
        id: short name, empty where there is none.
        check: what was judged.
        state: one of the three answers.
        reading: as people read it, for example "0.24 ± 0.01 mm" or "yes"; empty when there was none.
        value, u, low, high, unit: the numbers, None where there are none; u is a standard uncertainty.
        source, standing: where the limit comes from and how far it can be trusted.
        why: the reason in a sentence.
        line: number of the line of the book it comes from.
    """

    group: str
    id: str
    check: str
    state: State
    reading: str
    value: float | None
    u: float | None
    low: float | None
    high: float | None
    unit: str
    source: str
    standing: str
    why: str
    line: int


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a comparison: as people read it, the answer where there was a limit, and where it stands."""

    reading: str
    state: State | None
    line: int


@dataclass(frozen=True, slots=True)
class Compared:
    """One quantity as found beside as left.

    Attributes:
        group, what: as in `Answer`.
        found, left: None where it was not measured.
        change: the difference with its doubt, or why there is none.
    """

    group: str
    what: str
    found: Side | None
    left: Side | None
    change: str


@dataclass(frozen=True, slots=True)
class ContactFigures:
    """One contact: how late it closes and opens, ms; None where it could not be had."""

    contact: str
    closing: Reading | None
    opening: Reading | None


@dataclass(frozen=True, slots=True)
class LineFigures:
    """One capture as the proof shows it.

    Attributes:
        phase: "as found" or "as left"; said: what to know about the choice.
        file: name of the raw file; line: number of the line of the book.
        facts: (word, figure) pairs.
        contacts: their own lateness.
        units: (time s, unit ms) of the characters that have one.
        histogram: (first bin in per cent of a unit, counts in steps of one per cent); None when there is none.
        receiver: (element, low, high) per cent of a unit about the middle.
    """

    phase: str
    said: str
    file: str
    line: int
    facts: tuple[tuple[str, str], ...]
    contacts: tuple[ContactFigures, ...]
    units: tuple[tuple[float, float], ...]
    histogram: tuple[float, tuple[int, ...]] | None
    receiver: tuple[tuple[int, float, float], ...]


@dataclass(frozen=True, slots=True)
class TapeRow:
    """One row of a tape: its code, and which of its holes are partial (tracks, from 1)."""

    code: str
    partial: tuple[int, ...]
    along_mm: float


@dataclass(frozen=True, slots=True)
class TapeFigures:
    """One tape as the proof shows it.

    Attributes:
        phase, said, file, line, facts: as in `LineFigures`.
        text: what it says.
        rows: every row of its first strip; `along_mm` is where its feed hole lies along the tape.
        tracks: (track, punched, partial).
        pitch_mm: feed pitch; None when it is not known.
    """

    phase: str
    said: str
    file: str
    line: int
    facts: tuple[tuple[str, str], ...]
    text: str
    rows: tuple[TapeRow, ...]
    tracks: tuple[tuple[int, int, int], ...]
    pitch_mm: Reading | None


@dataclass(frozen=True, slots=True)
class ErrorCount:
    """Wrong characters of one sort of evidence of the machine as it now is.

    Attributes:
        sort: "line", "tape" or "soak".
        wrong, n: counted.
        upper_95: upper bound of the rate at 95 % confidence (Clopper-Pearson, one-sided).
        one_in: the bound as "fewer than 1 in so many".
        kinds: (kind, how many), those that occur.
        lines: numbers of the lines of the book.
    """

    sort: str
    wrong: int
    n: int
    upper_95: float
    one_in: int
    kinds: tuple[tuple[str, int], ...]
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Soak:
    """One long run; `supply_percent` is the supply against its nominal value, None when it is not on record."""

    line: int
    at: datetime
    characters: int
    wrong: int
    minutes: float | None
    supply_percent: float | None
    note: str


@dataclass(frozen=True, slots=True)
class Instrument:
    """What measured: name, what is known of its doubt, what it was used for, lines of the book."""

    name: str
    doubt: str
    used_for: str
    lines: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """Something that was not tested: what, why it is counted as such, what to do to close it."""

    what: str
    why: str
    do: str


@dataclass(frozen=True, slots=True)
class OpenPoint:
    """Something open: kind ("recheck", "outside", "instrument", "finding", "unexplained"), what, why, line."""

    kind: str
    what: str
    why: str
    line: int | None


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution that was shown, with who took note of it and when."""

    text: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Work:
    """One adjustment: what, before, after, why, when, by whom."""

    what: str
    before: str
    after: str
    why: str
    by: str
    at: datetime
    line: int


@dataclass(frozen=True, slots=True)
class Said:
    """Something in the words of whoever wrote it: an observation, a start or an end record.

    Attributes:
        head: what it is, for example "as left" or "what we knew at the start".
        text: their words.
        by, at, line: who, when, where in the book.
    """

    head: str
    text: str
    by: str
    at: datetime
    line: int


@dataclass(frozen=True, slots=True)
class DeadCheck:
    """One electrical check of the dead machine, as it stands in the book."""

    between: str
    reading: str
    limit: str
    verdict: str
    instrument: str
    by: str
    at: datetime
    line: int


@dataclass(frozen=True, slots=True)
class UsedLine:
    """A line of the book that the proof rests on, with the fingerprints of its raw files as (name, SHA-256)."""

    number: int
    key: str
    kind: str
    at: datetime
    program: str
    files: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Trail:
    """Everything used, and how to work it out again; `commands` are to be typed as they stand."""

    lines: tuple[UsedLine, ...]
    how: tuple[str, ...]
    commands: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FirstPage:
    """The answers for somebody who reads one page."""

    was_wrong: tuple[str, ...]
    does_now: tuple[str, ...]
    how_sure: tuple[str, ...]
    not_shown: tuple[str, ...]
    within: int
    outside: int
    unshown: int


@dataclass(frozen=True, slots=True)
class ProofDocument:
    """The whole proof of one machine.

    Attributes:
        as_of: time of the newest line of the book that was read (UTC): the date on every page.
        newest: fingerprint of that line.
        phases: (sort, phase, what to know about the choice of evidence), where there is something to know.
    """

    identity: Identity
    as_of: datetime
    newest: str
    program: str
    first_page: FirstPage
    phases: tuple[tuple[str, str, str], ...]
    compared: tuple[Compared, ...]
    work: tuple[Work, ...]
    answers: tuple[Answer, ...]
    line: tuple[LineFigures, ...]
    tape: tuple[TapeFigures, ...]
    errors: tuple[ErrorCount, ...]
    soaks: tuple[Soak, ...]
    observations: tuple[Said, ...]
    records: tuple[Said, ...]
    dead_checks: tuple[DeadCheck, ...]
    instruments: tuple[Instrument, ...]
    plan: PlanOfTests
    not_tested: tuple[Gap, ...]
    open_points: tuple[OpenPoint, ...]
    cautions: tuple[Caution, ...]
    trail: Trail
