"""Two machines side by side, to be read at the bench: what differs, what does not show it, what cannot be told."""

import re
from collections.abc import Iterator, Sequence

from tapewright.book.side_by_side.compare_machines import Compared, Side
from tapewright.book.side_by_side.difference import Row, State
from tapewright.book.side_by_side.figure import Figure
from tapewright.furniture.writing import wrapped
from tapewright.number import Reading

HEADINGS = {
    State.DIFFERS: "Differs, the clearest first",
    State.NOT_SHOWN: "No difference shown",
    State.CANNOT: "Cannot be compared",
}
#: marks a row whose doubt was made smaller by what one instrument brings to both sides
SHARED = "*"
NOTHING_NEGATIVE = re.compile(r"-(0(?:\.0+)?)(?![.\d])")
#: digits of a fingerprint that are enough to find a line again
SHORT_KEY = 12


def side_by_side_text(compared: Compared) -> str:
    """Return the report."""
    return "\n".join(_lines(compared))


def heading(side: Side) -> str:
    """Name a side."""
    return f"{side.machine.name}, {side.moment}"


def _lines(compared: Compared) -> Iterator[str]:
    result = compared.result
    yield f"A: {heading(compared.a)}"
    yield f"B: {heading(compared.b)}"
    yield "Differences are B less A, each ± its expanded uncertainty (2u)."
    for state, title in HEADINGS.items():
        rows = [row for row in result.rows if row.state is state]
        if rows:
            yield ""
            yield title
            yield from _table(rows)
    yield ""
    yield from _sum(compared)
    for side, letter in ((compared.a, "A"), (compared.b, "B")):
        yield from _evidence(side, letter)
    for sentence in compared.mind:
        yield from wrapped(f"Mind: {sentence}", "", "  ")


def _table(rows: Sequence[Row]) -> Iterator[str]:
    cells = [(row.figure.what, shown(row.a), shown(row.b), remark(row)) for row in rows]
    widths = [max(len(row[i]) for row in cells) for i in range(3)]
    for what, a, b, rest in cells:
        yield f"  {what:<{widths[0]}}  A {a:<{widths[1]}}  B {b:<{widths[2]}}  {rest}".rstrip()


def shown(figure: Figure | None) -> str:
    """Write what one side says."""
    if figure is None or figure.empty:
        return "-"
    if figure.yes is not None:
        return "yes" if figure.yes else "no"
    if figure.interval:
        return f"{_interval(*figure.interval)} {figure.reading.unit}"
    if figure.reading.how and " of " in figure.reading.how and figure.reading.unit == "percent":
        return figure.reading.how
    return plain(str(figure.reading))


def plain(text: str) -> str:
    """Write per cent as its sign, and no minus before nothing."""
    return NOTHING_NEGATIVE.sub(r"\1", text).replace(" percent", " %")


def _interval(low: float, high: float) -> str:
    if low == float("-inf"):
        return f"under {high:g}"
    return f"over {low:g}" if high == float("inf") else f"{low:g} to {high:g}"


def remark(row: Row) -> str:
    """Write the difference, or why there is none."""
    words = [signed(row.difference)] if row.difference is not None else []
    if row.state is State.DIFFERS and not row.sure:
        words.append("(may be chance)")
    if row.shared:
        words.append(SHARED)
    if row.why:
        words.append(row.why)
    return "  ".join(words)


def signed(difference: Reading) -> str:
    """Write a difference with its sign."""
    text = plain(str(difference))
    return text if text.startswith("-") else f"+{text}"


def _sum(compared: Compared) -> Iterator[str]:
    result = compared.result
    if not result.compared:
        yield "There is nothing that can be compared."
        return
    s = "s" * (result.compared != 1)
    chance = f"{result.by_chance:.1f}" if result.by_chance < 1 else f"{result.by_chance:.0f}"
    yield (
        f"{result.differ} of {result.compared} figure{s} differ{'s' * (result.differ == 1)}; "
        f"about {chance} would by chance alone."
    )
    if any(row.state is State.DIFFERS and not row.sure for row in result.rows):
        yield "(may be chance): more than 2u apart, but not clear enough among so many figures. Measure it again."
    shared = sorted({row.shared for row in result.rows if row.shared})
    if shared:
        yield f"{SHARED} one instrument took both: what {' and '.join(shared)} does to both is out of the doubt."


def _evidence(side: Side, letter: str) -> Iterator[str]:
    for sort, entry in side.evidence.items():
        instrument = entry.new.body.get("instrument")
        by = f", {instrument}" if isinstance(instrument, str) and instrument else ""
        older = side.passed_over[sort]
        more = f" ({older} older not used)" if older else ""
        yield f"{letter} {sort}: {entry.key[:SHORT_KEY]}, {entry.at:%Y-%m-%d %H:%M} UTC{by}{more}"
