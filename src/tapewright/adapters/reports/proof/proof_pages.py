"""The proof as pages, section by section, in the order of its document."""

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby

from tapewright.adapters.reports.pages.blocks import (
    Answers,
    Block,
    Bullets,
    Caution,
    Cell,
    Counts,
    Facts,
    Pages,
    Picture,
    Section,
    Table,
    Text,
)  # fmt: skip
from tapewright.adapters.reports.proof.plan_pages import claims_table, plan_table
from tapewright.adapters.reports.proof.plots import (
    contacts_plot,
    feed_plot,
    has_contacts,
    receiver_plot,
    speed_plot,
    tape_plot,
)  # fmt: skip
from tapewright.core.measurement import State
from tapewright.core.proof.answers import doubt_words, limit_words
from tapewright.core.proof.document import Answer, Compared, ProofDocument, Side, TapeFigures
from tapewright.core.proof.open_points import HEADS

WIDE_MM = 174.0


def proof_pages(proof: ProofDocument) -> Pages:
    """Give the whole proof as pages."""
    name = proof.identity.name
    sections = (make(proof) for make in SECTIONS)
    return Pages(
        f"Proof of {name}",
        f"What was measured, how sure it is, and what was not shown. As of {proof.as_of:%d %B %Y, %H:%M} UTC.",
        f"Proof of {name}, as of {proof.as_of:%Y-%m-%d %H:%M} UTC, {proof.newest[:12]}",
        proof.as_of,
        tuple(section for section in sections if section is not None),
    )


def _first_page(proof: ProofDocument) -> Section:
    page, identity = proof.first_page, proof.identity
    facts = [*identity.facts, *[pair for pair in identity.intake if pair[0] in ("came", "came from")]]
    blocks: list[Block] = [
        Facts([("machine", identity.name), *facts]),
        Answers("What was wrong, as found?", page.was_wrong),
        Answers("What does it do now, as left?", page.does_now),
        Answers("How sure is that?", page.how_sure),
        Counts([("within", page.within), ("outside", page.outside), ("not shown", page.unshown)]),
        Answers("What was not shown?", page.not_shown),
    ]
    return Section("", blocks)


def _identity(proof: ProofDocument) -> Section:
    blocks: list[Block] = [Facts([("machine", proof.identity.name), ("key in every book", proof.identity.key),
                                  *proof.identity.facts])]  # fmt: skip
    if proof.identity.intake:
        blocks += [Text("As it came:"), Facts(proof.identity.intake)]
    return Section("1  The machine", blocks, new_page=True)


def _found_left(proof: ProofDocument) -> Section:
    said = [f"{sort}, {phase}: {what}." for sort, phase, what in proof.phases]
    blocks: list[Block] = [
        Text("Each quantity as found and as left. A change is given only where it is larger than its own doubt.")
    ]
    if said:
        blocks.append(Bullets(said, "Which evidence stands for which side"))
    if not proof.compared:
        return Section("2  As found, as left", [*blocks, Text("Nothing was measured.")])
    blocks.append(Table(
        ("what", "as found", "as left", "change"), (34, 27, 27, 24), _compared_rows(proof.compared),
        "Each quantity as found beside as left",
    ))  # fmt: skip
    return Section("2  As found, as left", blocks)


def _compared_rows(compared: Sequence[Compared]) -> list[Sequence[Cell]]:
    out: list[Sequence[Cell]] = []
    for group, members in groupby(compared, key=lambda one: one.group):
        rows = list(members)
        where = [f"{phase} {_lines(sorted({s.line for s in sides if s}))}" for phase, sides in (
            ("as found", [r.found for r in rows]), ("as left", [r.left for r in rows])) if any(sides)]  # fmt: skip
        out.append((Cell(f"{group} ({'; '.join(where)} of the book)", span=True),))
        out += [(Cell(r.what), _side(r.found), _side(r.left), Cell(r.change)) for r in rows]
    return out


def _side(side: Side | None) -> Cell:
    return Cell("—") if side is None else Cell(side.reading, state=side.state.value if side.state else "")


def _work(proof: ProofDocument) -> Section | None:
    if not proof.work:
        return Section("3  What was done", [Text("No adjustment is on record.")])
    rows = [
        (Cell(f"{w.at:%Y-%m-%d}", quiet=w.by), Cell(w.what, quiet=w.why), Cell(w.before), Cell(w.after),
         Cell(str(w.line)))
        for w in proof.work
    ]
    table = Table(("when", "what and why", "before", "after", "line"), (20, 56, 20, 20, 10), rows, "What was adjusted")
    return Section("3  What was done", [table])


def _requirements(proof: ProofDocument) -> Section:
    if not proof.answers:
        return Section("4  Requirements", [Text("Nothing was judged: no sheet, no capture, no tape is on record.")])
    rows: list[Sequence[Cell]] = []
    for group, members in groupby(proof.answers, key=lambda answer: answer.group):
        rows.append((Cell(group, span=True),))
        rows += [_answer_row(answer) for answer in members]
    table = Table(
        ("requirement", "reading", "U", "limit", "source and standing of the limit", "verdict"),
        (36, 24, 10, 24, 36, 36), rows, "Each requirement with its reading, doubt, limit, source and verdict",
    )  # fmt: skip
    return Section("4  Requirements", [
        Text("U is the expanded uncertainty, about 95 %, in the unit of the reading. Within and outside are said only "
             "when the reading with all of its U lies there; everything else is not shown."), table,
    ])  # fmt: skip


def _answer_row(answer: Answer) -> Sequence[Cell]:
    reading = answer.reading.split(" ± ")[0] + (f" {answer.unit}" if " ± " in answer.reading else "")
    plain = answer.reading if ";" in answer.reading or "±" not in answer.reading else reading.replace("percent", "%")
    source = Cell(answer.source or "not stated", quiet=answer.standing)
    # of a "within" only how many captures it is the worst of is worth the room
    why = answer.why if answer.state is not State.WITHIN else answer.why.partition("; ")[2]
    return (
        Cell(answer.check, quiet=answer.id), Cell(plain or "—"), Cell(doubt_words(answer)), Cell(limit_words(answer)),
        source, Cell(answer.state.value, state=answer.state.value, quiet=why),
    )  # fmt: skip


def _line(proof: ProofDocument) -> Section:
    lines = proof.line
    if not lines:
        return Section("5  The line signal", [Text("No line capture is on record.")])
    blocks: list[Block] = [_figures([(f.phase, f.said, f.file, f.line, f.facts) for f in lines], "The line signal")]
    nominal_ms = 1000 / proof.plan.pace.baud
    if any(has_contacts(line) for line in lines):
        shows = "How late each contact closes and opens by itself, speed, bias and end distortion taken out."
        blocks.append(Picture(contacts_plot(lines), shows, WIDE_MM))
    if any(len(line.units) > 1 for line in lines):
        shows = "The unit of each character over the capture: steady is a straight line, a hunting governor a wave."
        blocks.append(Picture(speed_plot(lines, nominal_ms), shows, WIDE_MM))
    if any(line.receiver for line in lines):
        shows = "Where in each element a receiver may look without misreading; filled as found, open as left."
        blocks.append(Picture(receiver_plot(lines), shows, WIDE_MM))
    return Section("5  The line signal", blocks)


OneSide = tuple[str, str, str, int, Sequence[tuple[str, str]]]


def _figures(sides: Sequence[OneSide], caption: str) -> Block:
    """Lay the facts of as found and as left side by side; each side is (phase, what to know, file, line, facts)."""
    names = list(dict.fromkeys(name for *_, facts in sides for name, _ in facts))
    rows: list[Sequence[Cell]] = [(Cell("from"), *(Cell(file or "—", quiet=f"line {line} of the book")
                                                   for _, _, file, line, _ in sides))]  # fmt: skip
    rows += [(Cell(name), *(Cell(dict(facts).get(name, "—")) for *_, facts in sides)) for name in names]
    if any(said for _, said, *_ in sides):
        rows.append((Cell("to know"), *(Cell(said) for _, said, *_ in sides)))
    return Table(("", *(phase for phase, *_ in sides)), (30, *(70 for _ in sides)), rows, caption)


def _tape(proof: ProofDocument) -> Section:
    if not proof.tape:
        return Section("6  The tape", [Text("No tape is on record.")])
    sides = [(t.phase, t.said, t.file, t.line, [*t.facts, *_tracks(t)]) for t in proof.tape]
    blocks: list[Block] = [_figures(sides, "The tape")]
    for tape in proof.tape:
        if tape.rows:
            blocks.append(Picture(tape_plot(tape), f"The tape {tape.phase}: “{tape.text[:160]}”", WIDE_MM))
    if any(len(tape.rows) > 2 for tape in proof.tape):
        shows = "How far each row lies from where an even feed would have put it."
        blocks.append(Picture(feed_plot(proof.tape), shows, WIDE_MM))
    return Section("6  The tape", blocks)


def _tracks(tape: TapeFigures) -> list[tuple[str, str]]:
    return [(f"track {track}, not cut clean", f"{partial} of {punched}") for track, punched, partial in tape.tracks]


def _errors(proof: ProofDocument) -> Section:
    blocks: list[Block] = []
    if proof.errors:
        rows: list[Sequence[Cell]] = [
            (Cell(e.sort), Cell(f"{e.wrong:,}"), Cell(f"{e.n:,}"), Cell(f"{e.upper_95:.3g}"),
             Cell(f"1 in {e.one_in:,}"),
             Cell(", ".join(f"{n} {kind}" for kind, n in e.kinds) or "—", quiet=_lines(e.lines)))
            for e in proof.errors
        ]  # fmt: skip
        blocks.append(Table(
            ("by", "wrong", "of N", "at most, 95 %", "fewer than", "kinds"), (14, 12, 16, 20, 20, 44), rows,
            "Wrong characters with upper bound and N",
        ))  # fmt: skip
        blocks.append(Text(
            "Counted on the machine as it now is: after the last change, each raw file once. The bound is that of "
            "Clopper and Pearson, one-sided; it holds if errors fall independently.", quiet=True
        ))  # fmt: skip
    else:
        blocks.append(Text("No characters were compared with what was sent: nothing is claimed about wrong ones."))
    if proof.soaks:
        rows = [(Cell(f"{s.at:%Y-%m-%d}", quiet=f"line {s.line}"), Cell(f"{s.characters:,}"), Cell(f"{s.wrong:,}"),
                 Cell("—" if s.minutes is None else f"{s.minutes:g}"), Cell(s.note)) for s in proof.soaks]
        blocks.append(Table(("long run", "characters", "wrong", "minutes", "note"), (24, 20, 14, 16, 60), rows,
                            "Long runs"))  # fmt: skip
    else:
        blocks.append(Text("No long run is on record since the last change."))
    return Section("7  Wrong characters and long runs", blocks)


def _lines(lines: Iterable[int]) -> str:
    numbers = list(lines)
    more = f" and {len(numbers) - 20} more" if len(numbers) > 20 else ""
    return f"line {', '.join(map(str, numbers[:20]))}{more}" if numbers else ""


def _instruments(proof: ProofDocument) -> Section:
    if not proof.instruments:
        return Section("8  Instruments", [Text("No instrument is on record.")])
    rows = [(Cell(i.name), Cell(i.used_for), Cell(i.doubt), Cell(_lines(i.lines))) for i in proof.instruments]
    table = Table(("instrument", "for", "its doubt", "where"), (34, 14, 74, 34), rows, "What measured, and its doubt")
    return Section("8  Instruments", [table])


def _not_tested(proof: ProofDocument) -> Section:
    rows = [(Cell(gap.what), Cell(gap.why), Cell(gap.do, mono=gap.do.startswith("tapewright")))
            for gap in proof.not_tested]  # fmt: skip
    table = Table(("not tested", "why it is counted so", "to close it"), (60, 46, 66), rows, "What was not tested")
    return Section("9  Not tested", [table])


def _plan(proof: ProofDocument) -> Section:
    return Section("10  The test plan, and what of it is done", [plan_table(proof.plan), claims_table(proof.plan)])


def _open(proof: ProofDocument) -> Section:
    if not proof.open_points:
        return Section("11  Open points", [Text("No open point is on record. What was not tested stands above.")])
    rows: list[Sequence[Cell]] = []
    for kind, points in groupby(proof.open_points, key=lambda point: point.kind):
        rows.append((Cell(HEADS[kind], span=True),))
        state = {"outside": "outside", "not shown": "not shown"}.get(kind, "suspect")
        rows += [(Cell(p.what, state=state), Cell(p.why), Cell(str(p.line or ""))) for p in points]
    table = Table(("what", "why, and what to do", "line"), (80, 80, 12), rows, "Open points")
    return Section("11  Open points", [table])


def _cautions(proof: ProofDocument) -> Section:
    if not proof.cautions:
        return Section("12  Cautions", [Text("No caution is on record as read and taken on.")])
    blocks: list[Block] = [
        Text("These were shown before the step and taken on. Local codes and licensed practice rule.")
    ]
    blocks += [Caution(f"{c.text} ({', '.join(w for w in (c.by, f'{c.at:%Y-%m-%d}') if w)})") for c in proof.cautions]
    return Section("12  Cautions", blocks)


def _trail(proof: ProofDocument) -> Section:
    rows = []
    for used in proof.trail.lines:
        files = "; ".join(f"{name or 'raw file'} {sha256}" for name, sha256 in used.files)
        what = Cell(f"{used.number}", quiet=used.kind)
        when = Cell(f"{used.at:%Y-%m-%d %H:%M}", quiet=used.program)
        rows.append((what, when, Cell(used.key, quiet=files, mono=True)))
    return Section("13  Fingerprints, and how to work it out again", [
        *(Text(said) for said in proof.trail.how),
        *(Table(("type this",), (1,), [(Cell(command, mono=True),) for command in proof.trail.commands], "Commands"),),
        Table(("line", "when", "fingerprint of the line; below it, those of its raw files"), (18, 28, 128), rows,
              "Fingerprints of every line and raw file used"),
    ])  # fmt: skip


SECTIONS: tuple[Callable[[ProofDocument], Section | None], ...] = (
    _first_page, _identity, _found_left, _work, _requirements, _line, _tape, _errors, _instruments, _not_tested, _plan,
    _open, _cautions, _trail,
)  # fmt: skip
