"""The proof and its plan of tests as typed documents, one record a section, in the order of the pages.

Words in it are for people and end up on paper as they are; words that users wrote are marked as theirs where they
stand. `line` is always the number of a line of the book; times are UTC.
"""

from datetime import datetime
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from tapewright.furniture.document import Document, told
from tapewright.number import Reading, State
from tapewright.proof.claims import Claim

Pairs = tuple[tuple[str, str], ...]


class Identity(Document, frozen=True):
    """Which machine: its names and what is written of it, word by word in the order of the page."""

    name: str
    key: str
    facts: dict[str, str]
    intake: dict[str, str]


class Answer(Document, frozen=True):
    """A verdict as the book holds it."""

    group: Annotated[str, told("Station of the sheet, or line, tape, coil.")]
    id: str | None
    check: str
    state: State
    reading: Annotated[str | None, told("As people read it, for example 0.24 ± 0.01 mm or yes; null without one.")]
    value: float | None
    u: Annotated[float | None, told("Standard uncertainty.")]
    low: float | None
    high: float | None
    unit: str
    source: str
    standing: Annotated[str, told("How far the limit can be trusted.")]
    why: str
    line: int

    @property
    def read(self) -> str:
        """The reading in words; empty without one."""
        return self.reading or ""


class Side(Document, frozen=True):
    """One side of a comparison: as people read it, the answer where there was a limit, and where it stands."""

    reading: str
    state: State | None
    line: int


class Compared(Document, frozen=True):
    """One quantity as found beside as left."""

    group: str
    what: str
    found: Annotated[Side | None, told("Null where it was not measured.")]
    left: Side | None
    change: Annotated[str, told("The difference with its doubt, or why there is none.")]


class ContactFigures(Document, frozen=True, rename={"closing": "closing_late_ms", "opening": "opening_late_ms"}):
    """One contact: how late it closes and opens, ms; null where it could not be had."""

    contact: str
    closing: Reading | None
    opening: Reading | None


class LineFigures(Document, frozen=True):
    """One capture as the proof shows it."""

    phase: str
    said: Annotated[str, told("What to know about the choice.")]
    file: str
    line: int
    facts: Pairs
    contacts: Annotated[tuple[ContactFigures, ...], told("Their own lateness.")]
    units: Annotated[tuple[tuple[float, float], ...], told("Time, s, and unit, ms, of each character that has one.")]
    histogram: Annotated[
        tuple[float, tuple[int, ...]] | None,
        told("First bin, per cent of a unit, and counts in steps of one per cent."),
    ]
    receiver: Annotated[tuple[tuple[int, float, float], ...], told("Element, low and high, per cent of a unit.")]


class TapeRow(Document, frozen=True):
    """One row of a tape: its code, which of its holes are partial (tracks, from 1), where it lies along the tape."""

    code: str
    partial: tuple[int, ...]
    along_mm: float


class Track(Document, frozen=True):
    """How many holes of a track are not cut clean."""

    track: int
    punched: int
    partial: int


class TapeFigures(Document, frozen=True, rename={"row_count": "rows", "rows": "row_by_row"}):
    """One tape as the proof shows it: the figures of its first strip."""

    phase: str
    said: str
    file: str
    line: int
    facts: Pairs
    text: str
    row_count: int
    tracks: tuple[Track, ...]
    pitch_mm: Reading | None
    rows: tuple[TapeRow, ...]


class ErrorCount(Document, frozen=True, rename={"upper_95": "rate_upper_95", "one_in": "fewer_than_one_in"}):
    """Wrong characters of one sort of evidence of the machine as it now is."""

    sort: Annotated[str, told("line, tape or soak.")]
    wrong: int
    n: int
    upper_95: Annotated[float, told("Upper bound of the rate at 95 % confidence (Clopper-Pearson, one-sided).")]
    one_in: Annotated[int, told("The bound as fewer than 1 in so many.")]
    kinds: dict[str, int]
    lines: tuple[int, ...]
    stated: Annotated[int, told("Characters of n that a person stated, without a raw file.")] = 0


class Soak(Document, frozen=True):
    """One long run."""

    line: int
    at: datetime
    characters: int
    wrong: int
    minutes: float | None
    note: str
    supply_percent: Annotated[float | None, told("Supply against its nominal value.")] = None
    stated: Annotated[bool, told("Whether a person stated it: no raw file is kept with it.")] = False


class Instrument(Document, frozen=True):
    """What measured: name, what is known of its doubt, what it was used for."""

    name: str
    doubt: str
    used_for: str
    lines: tuple[int, ...]


class Gap(Document, frozen=True):
    """Something that was not tested: what, why it is counted as such, what to do to close it."""

    what: str
    why: str
    do: str


class OpenPoint(Document, frozen=True):
    """Something open: its kind is a key of `open_points.HEADS`."""

    kind: str
    what: str
    why: str
    line: int | None


class Caution(Document, frozen=True):
    """A caution that was shown, with who took note of it and when."""

    text: str
    by: str
    at: datetime


class Work(Document, frozen=True):
    """One adjustment."""

    what: str
    before: str
    after: str
    why: str
    by: str
    at: datetime
    line: int


class Said(Document, frozen=True):
    """Something in the words of whoever wrote it: an observation, a start or an end record."""

    head: Annotated[str, told("What it is, for example as left, or what we knew at the start.")]
    text: str
    by: str
    at: datetime
    line: int


class DeadCheck(Document, frozen=True):
    """One electrical check of the dead machine, as it stands in the book."""

    between: str
    reading: str
    limit: str
    verdict: str
    instrument: str
    by: str
    at: datetime
    line: int


class Withdrawn(Document, frozen=True):
    """A line that a later one withdraws; it stays in sight."""

    line: int
    key: str
    kind: str
    sort: Annotated[str | None, told("For evidence, what it is of.")]
    phase: str | None
    says: Annotated[str, told("The line in a few words.")]
    outside: Annotated[int, told("Verdicts of it that are outside.")]
    unshown: Annotated[int, told("Verdicts of it that are not shown.")]
    at: Annotated[datetime, told("When it was withdrawn.")]
    by: str
    because: str
    replaced_by: Annotated[int, told("The line that withdraws it.")]

    def __str__(self) -> str:
        """Say it as a list does."""
        because = f"because {self.because}" if self.because else "without a reason"
        what = f"line {self.line}, {self.kind}" + (f" of the {self.sort} {self.phase}" if self.sort else "")
        judged = [f"{n} {word}" for n, word in ((self.outside, "outside"), (self.unshown, "not shown")) if n]
        counts = f" ({', '.join(judged)})" if judged else ""
        return f"{what}{counts}: withdrawn {self.at:%Y-%m-%d} by {self.by or 'nobody named'}, {because}"


class Signed(Document, frozen=True):
    """What one bench wrote about the machine, and whether its chain is whole."""

    bench: Annotated[str | None, told("Public key (Ed25519); null for lines that nobody signed.")]
    name: Annotated[str | None, told("What the bench is called here; null when it is not known.")]
    lines: int
    whole: bool
    says: str


class Seal(Document, frozen=True):
    """The signature of the bench that wrote the file; seal.py says over what."""

    bench: str
    signature: str


class UsedFile(Document, frozen=True):
    """A raw file that a line rests on."""

    name: str | None
    sha256: str


class UsedLine(Document, frozen=True):
    """A line of the book that the proof rests on."""

    number: int
    key: str
    kind: str
    at: datetime
    program: str
    files: tuple[UsedFile, ...]


class Trail(Document, frozen=True):
    """Everything used, and how to work it out again."""

    lines: tuple[UsedLine, ...]
    how: tuple[str, ...]
    commands: Annotated[tuple[str, ...], told("To be typed as they stand.")]


class StateCounts(Document, frozen=True, rename={"unshown": "not shown"}):
    """How many verdicts of each state."""

    within: int
    outside: int
    unshown: int


class FirstPage(Document, frozen=True):
    """The answers for somebody who reads one page."""

    was_wrong: tuple[str, ...]
    does_now: tuple[str, ...]
    how_sure: tuple[str, ...]
    not_shown: tuple[str, ...]
    counts: StateCounts


class Phase(Document, frozen=True):
    """Which evidence stands for as found or as left, where there is something to know."""

    sort: str
    phase: str
    said: str


class PlannedTest(Document, frozen=True):
    """One test of the plan."""

    test: Annotated[str, told("Short name.")]
    what: str
    shows: Annotated[str, told("What it is good for.")]
    setting: Annotated[str, told("What else is to be set or minded.")]
    cautions: tuple[str, ...]
    pattern: Annotated[str, told("Test text, a name of line compose --pattern.")]
    characters: Annotated[int, told("How many to send.")]
    seconds: Annotated[float, told("For the sending.")]
    minutes_more: Annotated[float, told("For warming up, setting and cooling down.")]
    tape_m: Annotated[float, told("Length of tape punched.")]
    command: Annotated[str | None, told("Composes the signal; null where the hand sends.")]
    check: Annotated[str, told("Reads what came against what was sent, and keeps it; CAPTURE stands for the file.")]
    done: Literal["done", "in part", "not done"]
    have: int
    want: int
    unit: Annotated[str, told("Characters, codes, pairs, letters or ends.")]
    lines: tuple[int, ...]


class Plan(Document, frozen=True, kw_only=True):
    """All tests of a machine, what claims take, and the pace they were worked out for: `tapewright machine plan`."""

    format: Literal["tapewright/plan/1"] = "tapewright/plan/1"
    machine: str
    alphabet: str
    baud: Annotated[float, told("Nominal modulation rate.")]
    character_ms: Annotated[float, told("Length of a character at full speed.")]
    character_from: Annotated[str, told("Measured or nominal, in words.")]
    pitch_mm: Annotated[float, told("Feed pitch.")]
    pitch_from: str
    source: Annotated[str, told("Where the choice of tests comes from.")]
    standing: str
    seconds: Annotated[float, told("Time of all the sending.")]
    tape_m: Annotated[float, told("Tape punched in all tests.")]
    wanted_one_in: Annotated[int, told("The claim wanted: fewer than 1 wrong in so many.")]
    tests: tuple[PlannedTest, ...]
    claims: tuple[Claim, ...]


NAMES = {
    "identity": "machine",
    "answers": "verdicts",
    "line": "line_figures",
    "tape": "tape_figures",
    "dead_checks": "electrical_checks",
}


class ProofDocument(Document, frozen=True, kw_only=True, rename=NAMES):
    """The hand-over document of one machine: `tapewright machine prove NAME --json`."""

    format: Literal["tapewright/proof/1"] = "tapewright/proof/1"
    identity: Identity
    as_of: Annotated[datetime, told("Time of the newest line of the book that was read: the date on every page.")]
    newest: Annotated[str, told("Fingerprint of that line.")]
    program: str
    first_page: FirstPage
    phases: tuple[Phase, ...]
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
    plan: Plan
    not_tested: tuple[Gap, ...]
    open_points: tuple[OpenPoint, ...]
    cautions: tuple[Caution, ...]
    trail: Trail
    withdrawn: tuple[Withdrawn, ...]
    signatures: tuple[Signed, ...]
    seal: Annotated[Seal | UnsetType, told("In a file only: over the rest of it.")] = UNSET
