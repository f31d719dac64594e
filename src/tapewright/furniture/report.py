"""A report: sections of blocks, made from the figures of a document; for a terminal, a page and paper alike.

    Section("Speed", [facts(line.speed)])
    Section("Contacts", [table(line.contacts, caption="Each contact's own lateness")])
    Section("Verdicts", [Verdicts(line.verdicts)])

The blocks are those of printed pages (pages/blocks.py): there is one model. `as_text` writes them for a terminal,
`pages.html.blocks_html` for a page, `pages.pdf` for paper.
"""

from collections.abc import Iterable, Mapping, Sequence

from tapewright.furniture.document import Document
from tapewright.furniture.figures import Figure, columns, figures, row_label
from tapewright.furniture.pages.blocks import (
    Answers,
    Block,
    Bullets,
    Caution,
    Cell,
    Counts,
    Facts,
    Lines,
    Picture,
    Section,
    Table,
    Text,
    Verdicts,
)
from tapewright.furniture.writing import ANSWERS, WIDTH, in_parts, verdicts_text, wrapped, write, written_unit

BETWEEN = "  "
#: what stands in a cell without a figure
NOTHING = "-"


def facts(document: Document | Iterable[Figure], *keys: str, units: str = "metric", minus: str = "-") -> Facts:
    """Return the figures of a record as pairs of label and value; what is not known is left out.

    Args:
        document: the record; or figures.
        keys: only these paths, in this order; all where there is none.
        units: "metric" or "inch".
        minus: the sign for it.
    """
    found = figures(document) if isinstance(document, Document) else document
    chosen = {each.key: each for each in found if each.known}
    order = [chosen[key] for key in keys if key in chosen] if keys else list(chosen.values())
    return Facts(tuple((f.name, write(f.value, f.unit, signed=f.signed, units=units, minus=minus)) for f in order))


def table(
    records: Sequence[Document],
    *keys: str,
    caption: str = "",
    heads: Mapping[str, str] = {},
    units: str = "metric",
    minus: str = "-",
) -> Table:
    """Return a list of records as a table: a row each, a column for each figure, the unit in the head.

    Args:
        records: of one type; the first column is what its `row_label` says.
        keys: only these figures (paths inside a record), in this order; all where there is none.
        caption: what the table is, for people who cannot see it.
        heads: words for the head of a column other than the figure's label.
        units: "metric" or "inch".
        minus: the sign for it.
    """
    marks = dict(columns(type(records[0]))) if records else {}
    chosen = keys or tuple(marks)
    named = [row_label(record) or str(number) for number, record in enumerate(records, start=1)]
    found = [{each.key: each for each in figures(record)} for record in records]
    head, rows = [""], [[Cell(name)] for name in named]
    for key in chosen:
        units_here = {f.unit for figures_ in found if (f := figures_.get(key)) is not None and f.unit}
        one = written_unit(units_here.pop(), units)[1] if len(units_here) == 1 else ""
        label = heads.get(key, marks[key].label if key in marks else key)
        head.append(f"{label}, {one}" if one else label)
        for row, figures_ in zip(rows, found, strict=True):
            row.append(Cell(_cell(figures_.get(key), one, units, minus)))
    widths = [max(len(each[n].text) for each in (*rows, [Cell(h) for h in head])) for n in range(len(head))]
    return Table(tuple(head), tuple(float(width or 1) for width in widths), tuple(tuple(row) for row in rows), caption)


def _cell(figure: Figure | None, unit: str, units: str, minus: str) -> str:
    if figure is None or not figure.known:
        return NOTHING
    text = str(in_parts(figure.value, figure.unit, signed=figure.signed, units=units, minus=minus))
    return text.removesuffix(f" {unit}") if unit else text


def as_text(sections: Iterable[Section], width: int = WIDTH) -> str:
    """Return a report for a terminal; sections are parted by an empty line."""
    parts = []
    for section in sections:
        lines = [section.heading] if section.heading else []
        for block in section.blocks:
            lines += _lines(block, width)
        parts.append("\n".join(lines))
    return "\n\n".join(part for part in parts if part)


def _lines(block: Block, width: int) -> list[str]:
    match block:
        case Text():
            return wrapped(block.text, "  ", "  ", width)
        case Lines():
            return [
                f"  {line[at : at + width - 4]}"
                for line in block.lines
                for at in range(0, max(len(line), 1), width - 4)
            ]
        case Bullets():
            lines = wrapped(block.head, "  ", "  ", width) if block.head else []
            for n, item in enumerate(block.items, start=1):
                lines += wrapped(item, f"  {n}. " if block.numbered else "  - ", width=width)
            return lines
        case Facts():
            return _facts(block, width)
        case Table():
            return _table(block)
        case Verdicts():
            return verdicts_text(block.verdicts)
        case Caution():
            return wrapped(block.text, "  ! ", width=width)
        case Counts():
            return [f"  {state}: {n}" for state, n in block.counts]
        case Answers():
            return [f"  {block.question}", *(line for a in block.answers for line in wrapped(a, "    ", width=width))]
        case Picture():
            return wrapped(block.shows, "  ", "  ", width)


def _facts(block: Facts, width: int) -> list[str]:
    widest = max((len(label) for label, _ in block.pairs), default=0)
    return [
        line
        for label, value in block.pairs
        for line in wrapped(value, f"  {label:<{widest}}  ", " " * (widest + 4), width)
    ]


def _table(block: Table) -> list[str]:
    rows = [list(block.head), *([_cell_text(cell) for cell in row] for row in block.rows)]
    full = [row for row in rows if len(row) == len(block.head)]
    wide = [max(len(row[n]) for row in full) for n in range(len(block.head))]
    return [
        f"  {BETWEEN.join(f'{text:<{wide[n]}}' for n, text in enumerate(row))}".rstrip()
        if len(row) == len(wide)
        else f"  {row[0]}"
        for row in rows
    ]


def _cell_text(cell: Cell) -> str:
    answers = {state.value: word for state, word in ANSWERS.items()}
    text = answers.get(cell.text, cell.text)
    state = f"{answers.get(cell.state, cell.state)} " if cell.state and cell.state != cell.text else ""
    return f"{'[ ] ' if cell.box else ''}{state}{text}" + (f" ({cell.quiet})" if cell.quiet else "")
