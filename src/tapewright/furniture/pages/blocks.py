"""What reports and printed pages are made of: sections of blocks; plain data, for a terminal, as PDF or as HTML.

Pages
Section  heading, blocks
Text  Lines  Bullets  Facts  Table  Verdicts  Picture  Caution  Counts  Answers
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from tapewright.furniture.writing import PROPER_MINUS, judged, limit_text, write
from tapewright.number import State, Verdict


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph; quiet ones are printed smaller."""

    text: str
    quiet: bool = False


@dataclass(frozen=True, slots=True)
class Lines:
    """Lines as they are, in letters of one width: a text that was received."""

    lines: Sequence[str]


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list, with a line of its own before it when it has a head; numbered where the order counts."""

    items: Sequence[str]
    head: str = ""
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Facts:
    """Pairs of a word and what there is to say."""

    pairs: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of a table.

    Attributes:
        text: what stands in it.
        state: "within", "outside", "not shown" or "suspect": its shape stands before the text; empty for none.
        quiet: a second line, printed smaller.
        mono: set in letters of one width, for commands and fingerprints.
        box: an empty box to tick.
        span: the cell is alone in its row and heads those below it.
    """

    text: str = ""
    state: str = ""
    quiet: str = ""
    mono: bool = False
    box: bool = False
    span: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """A table; its head is repeated on every page.

    Attributes:
        head: one word or two a column.
        widths: shares of the width, one a column.
        rows: cells; a row of one cell that spans heads a group.
        caption: what it is, for people who cannot see it.
    """

    head: Sequence[str]
    widths: Sequence[float]
    rows: Sequence[Sequence[Cell]]
    caption: str


@dataclass(frozen=True, slots=True)
class Verdicts:
    """Readings held against their limits."""

    verdicts: Sequence[Verdict]

    def table(self) -> Table:
        """Return them as a table, for paper and page."""
        rows = tuple(_judged_row(verdict) for verdict in self.verdicts)
        return Table(("answer", "", "limit"), (2.0, 5.0, 5.0), rows, "Against the limits")


def _judged_row(verdict: Verdict) -> tuple[Cell, ...]:
    limit, source = verdict.limit, verdict.limit.source
    value = "" if verdict.value is None else write(judged(verdict), minus=PROPER_MINUS)
    why = verdict.why if verdict.state is State.NOT_SHOWN else ""
    return (
        Cell(verdict.state.value, state=verdict.state.value),
        Cell(f"{limit.check}: {value}" if value else limit.check, quiet=why),
        Cell(limit_text(limit).replace("-", PROPER_MINUS), quiet=f"{source} ({source.standing.value})"),
    )


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing as SVG, with what it shows in words."""

    svg: str
    shows: str
    width_mm: float


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution: it stands before the step."""

    text: str


@dataclass(frozen=True, slots=True)
class Counts:
    """How many of each state, side by side."""

    counts: Sequence[tuple[str, int]]


@dataclass(frozen=True, slots=True)
class Answers:
    """A question with its answers, for the first page."""

    question: str
    answers: Sequence[str]


Block = Text | Lines | Bullets | Facts | Table | Verdicts | Picture | Caution | Counts | Answers


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with what follows it; `new_page` begins it on a page of its own."""

    heading: str
    blocks: Sequence[Block]
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Pages:
    """A whole document.

    Attributes:
        title: on the first page, and in the file.
        subtitle: one sentence below it.
        running: stands at the foot of every page.
        date: of the document, from the data.
        sections: in their order.
    """

    title: str
    subtitle: str
    running: str
    date: datetime
    sections: Sequence[Section] = field(default_factory=tuple)
