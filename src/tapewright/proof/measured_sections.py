"""Sections of the proof that hold what was measured: as found beside as left, requirements, line, tape, counts."""

from collections.abc import Iterable, Sequence
from itertools import groupby

from tapewright.furniture.pages.blocks import Block, Bullets, Cell, Picture, Section, Table, Text
from tapewright.message import error_rate
from tapewright.number import State
from tapewright.proof.answers import doubt_words, limit_words
from tapewright.proof.document import Answer, Compared, ProofDocument, Side, TapeFigures, Track
from tapewright.proof.plots import (
    contacts_plot,
    feed_plot,
    has_contacts,
    receiver_plot,
    speed_plot,
    tape_plot,
)

WIDE_MM = 174.0
STATED = "stated by a person: no raw file is kept with it"


def found_left_section(proof: ProofDocument) -> Section:
    """Lay as found beside as left."""
    said = [f"{p.sort}, {p.phase}: {p.said}." for p in proof.phases]
    blocks: list[Block] = [
        Text("Each quantity as found and as left. A change is given only where it is larger than its own doubt.")
    ]
    if said:
        blocks.append(Bullets(said, "Which evidence stands for which side"))
    if not proof.compared:
        return Section("As found, as left", [*blocks, Text("Nothing was measured.")])
    blocks.append(
        Table(
            ("what", "as found", "as left", "change"),
            (34, 27, 27, 24),
            _compared_rows(proof.compared),
            "Each quantity as found beside as left",
        )
    )
    return Section("As found, as left", blocks)


def _compared_rows(compared: Sequence[Compared]) -> list[Sequence[Cell]]:
    out: list[Sequence[Cell]] = []
    for group, members in groupby(compared, key=lambda one: one.group):
        rows = list(members)
        where = [
            f"{phase} {lines_words(sorted({s.line for s in sides if s}))}"
            for phase, sides in (("as found", [r.found for r in rows]), ("as left", [r.left for r in rows]))
            if any(sides)
        ]
        out.append((Cell(f"{group} ({'; '.join(where)} of the book)", span=True),))
        out += [(Cell(r.what), _side(r.found), _side(r.left), Cell(r.change)) for r in rows]
    return out


def _side(side: Side | None) -> Cell:
    return Cell("—") if side is None else Cell(side.reading, state=side.state.value if side.state else "")


def requirements_section(proof: ProofDocument) -> Section:
    """Return every verdict with reading, doubt, limit, source and standing."""
    if not proof.answers:
        nothing = "Nothing was judged: no sheet, no capture, no tape is on record as left."
        return Section("Requirements", [Text(nothing)])
    rows: list[Sequence[Cell]] = []
    for group, members in groupby(proof.answers, key=lambda answer: answer.group):
        rows.append((Cell(group, span=True),))
        rows += [_answer_row(answer) for answer in members]
    table = Table(
        ("requirement", "reading", "U", "limit", "source and standing of the limit", "verdict"),
        (36, 24, 10, 24, 36, 36),
        rows,
        "Each requirement with its reading, doubt, limit, source and verdict",
    )
    return Section(
        "Requirements",
        [
            Text(
                "U is the expanded uncertainty, about 95 %, in the unit of the reading. Within and outside are said "
                "only when the reading with all of its U lies there; everything else is not shown."
            ),
            table,
        ],
    )


def _answer_row(answer: Answer) -> Sequence[Cell]:
    reading = answer.read.split(" ± ")[0] + (f" {answer.unit}" if " ± " in answer.read else "")
    plain = answer.read if ";" in answer.read or "±" not in answer.read else reading.replace("percent", "%")
    source = Cell(answer.source or "not stated", quiet=answer.standing)
    # of a "within" only how many captures it is the worst of is worth the room
    why = answer.why if answer.state is not State.WITHIN else answer.why.partition("; ")[2]
    return (
        Cell(answer.check, quiet=answer.id or ""),
        Cell(plain or "—"),
        Cell(doubt_words(answer)),
        Cell(limit_words(answer)),
        source,
        Cell(answer.state.value, state=answer.state.value, quiet=why),
    )


def line_section(proof: ProofDocument) -> Section:
    """Return the line signal with its plots."""
    lines = proof.line
    if not lines:
        return Section("The line signal", [Text("No line capture is on record.")])
    blocks: list[Block] = [_figures([(f.phase, f.said, f.file, f.line, f.facts) for f in lines], "The line signal")]
    nominal_ms = 1000 / proof.plan.baud
    if any(has_contacts(line) for line in lines):
        shows = "How late each contact closes and opens by itself, speed, bias and end distortion taken out."
        blocks.append(Picture(contacts_plot(lines), shows, WIDE_MM))
    if any(len(line.units) > 1 for line in lines):
        shows = "The unit of each character over the capture: steady is a straight line, a hunting governor a wave."
        blocks.append(Picture(speed_plot(lines, nominal_ms), shows, WIDE_MM))
    if any(line.receiver for line in lines):
        shows = "Where in each element a receiver may look without misreading; filled as found, open as left."
        blocks.append(Picture(receiver_plot(lines), shows, WIDE_MM))
    return Section("The line signal", blocks)


OneSide = tuple[str, str, str, int, Sequence[tuple[str, str]]]


def _figures(sides: Sequence[OneSide], caption: str) -> Block:
    """Lay the facts of as found and as left side by side; each side is (phase, what to know, file, line, facts)."""
    names = list(dict.fromkeys(name for *_, facts in sides for name, _ in facts))
    rows: list[Sequence[Cell]] = [
        (Cell("from"), *(Cell(file or "—", quiet=f"line {line} of the book") for _, _, file, line, _ in sides))
    ]
    rows += [(Cell(name), *(Cell(dict(facts).get(name, "—")) for *_, facts in sides)) for name in names]
    if any(said for _, said, *_ in sides):
        rows.append((Cell("to know"), *(Cell(said) for _, said, *_ in sides)))
    return Table(("", *(phase for phase, *_ in sides)), (30, *(70 for _ in sides)), rows, caption)


def tape_section(proof: ProofDocument) -> Section:
    """Return the tape with its plots."""
    if not proof.tape:
        return Section("The tape", [Text("No tape is on record.")])
    sides = [(t.phase, t.said, t.file, t.line, [*t.facts, *_tracks(t)]) for t in proof.tape]
    blocks: list[Block] = [_figures(sides, "The tape")]
    for tape in proof.tape:
        if tape.rows:
            blocks.append(Picture(tape_plot(tape), f"The tape {tape.phase}: “{tape.text[:160]}”", WIDE_MM))
    if any(len(tape.rows) > 2 for tape in proof.tape):
        shows = "How far each row lies from where an even feed would have put it."
        blocks.append(Picture(feed_plot(proof.tape), shows, WIDE_MM))
    return Section("The tape", blocks)


def _tracks(tape: TapeFigures) -> list[tuple[str, str]]:
    return [(f"track {t.track}, not cut clean", f"{t.partial} of {t.punched}{_bound(t)}") for t in tape.tracks]


def _bound(track: Track) -> str:
    if not 0 <= track.partial <= track.punched or not track.punched:
        return ""
    return f": at most {100 * error_rate(track.partial, track.punched).upper_95:.2g} % (95 %)"


def errors_section(proof: ProofDocument) -> Section:
    """Return wrong characters with their bound, and the long runs."""
    blocks: list[Block] = []
    if proof.errors:
        rows: list[Sequence[Cell]] = [
            (
                Cell(e.sort),
                Cell(f"{e.wrong:,}"),
                Cell(f"{e.n:,}"),
                Cell(f"{e.upper_95:.3g}"),
                Cell(f"1 in {e.one_in:,}"),
                Cell(", ".join(f"{n} {kind}" for kind, n in e.kinds.items()) or "—", quiet=lines_words(e.lines)),
            )
            for e in proof.errors
        ]
        blocks.append(
            Table(
                ("by", "wrong", "of N", "at most, 95 %", "fewer than", "kinds"),
                (14, 12, 16, 20, 20, 44),
                rows,
                "Wrong characters with upper bound and N",
            )
        )
        blocks.append(
            Text(
                "Counted on the machine as it now is: after the last change, each raw file once. The bound is that of "
                "Clopper and Pearson, one-sided; it holds if errors fall independently.",
                quiet=True,
            )
        )
    else:
        blocks.append(Text("No characters were compared with what was sent: nothing is claimed about wrong ones."))
    if proof.soaks:
        rows = [
            (
                Cell(f"{s.at:%Y-%m-%d}", quiet=f"line {s.line}"),
                Cell(f"{s.characters:,}"),
                Cell(f"{s.wrong:,}"),
                Cell("—" if s.minutes is None else f"{s.minutes:g}"),
                Cell(s.note, quiet=STATED if s.stated else ""),
            )
            for s in proof.soaks
        ]
        blocks.append(
            Table(("long run", "characters", "wrong", "minutes", "note"), (24, 20, 14, 16, 60), rows, "Long runs")
        )
    else:
        blocks.append(Text("No long run is on record since the last change."))
    return Section("Wrong characters and long runs", blocks)


def lines_words(lines: Iterable[int]) -> str:
    """Name lines of the book, as many as there is room for."""
    numbers = list(lines)
    more = f" and {len(numbers) - 20} more" if len(numbers) > 20 else ""
    return f"line {', '.join(map(str, numbers[:20]))}{more}" if numbers else ""
