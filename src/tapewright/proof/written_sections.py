"""Sections of the proof that hold what was written down, what was left out and what is open."""

import hashlib
from collections.abc import Sequence
from itertools import groupby

from tapewright.furniture.pages.blocks import Block, Bullets, Caution, Cell, Facts, Section, Table, Text
from tapewright.furniture.pages.printable import SHAPES
from tapewright.proof.document import ProofDocument, UsedLine
from tapewright.proof.measured_sections import lines_words
from tapewright.proof.open_points import HEADS
from tapewright.proof.plan_pages import claims_table, plan_table

#: lines listed with their fingerprints: twenty pages or so; a record of a hundred thousand would fill two thousand
MOST_LINES = 500


def identity_section(proof: ProofDocument) -> Section:
    """Say which machine it is, and how it came."""
    blocks: list[Block] = [
        Facts(
            [("machine", proof.identity.name), ("key in every book", proof.identity.key), *proof.identity.facts.items()]
        )
    ]
    if proof.identity.intake:
        blocks += [Text("As it came:"), Facts(list(proof.identity.intake.items()))]
    return Section("The machine", blocks)


def work_section(proof: ProofDocument) -> Section:
    """List what was adjusted."""
    if not proof.work:
        return Section("What was done", [Text("No adjustment is on record.")])
    rows = [
        (
            Cell(f"{w.at:%Y-%m-%d}", quiet=w.by),
            Cell(w.what, quiet=w.why),
            Cell(w.before),
            Cell(w.after),
            Cell(str(w.line)),
        )
        for w in proof.work
    ]
    table = Table(("when", "what and why", "before", "after", "line"), (20, 56, 20, 20, 10), rows, "What was adjusted")
    return Section("What was done", [table])


def in_words_section(proof: ProofDocument) -> Section:
    """Return observations and records in the words of whoever wrote them."""
    blocks: list[Block] = []
    for head, said in (("What eye, ear and finger noticed", proof.observations), ("On record", proof.records)):
        items = [
            f"{s.head} ({', '.join(w for w in (s.by, f'{s.at:%Y-%m-%d}', f'line {s.line}') if w)}): “{s.text}”"
            for s in said
        ]
        blocks += [Bullets(items, head)] if items else []
    nothing = Text("No observation and no record in words is in the book.")
    return Section("In the restorer's words", blocks or [nothing])


def dead_checks_section(proof: ProofDocument) -> Section:
    """List the electrical checks of the dead machine, with what they do not say."""
    warning = Text(
        "Whether a machine may be plugged in is for local codes and somebody licensed for it. What follows "
        "is what was written down, no more."
    )
    if not proof.dead_checks:
        return Section("Electrical checks, machine dead", [warning, Text("None is on record.")])
    rows = [
        (
            Cell(c.between),
            Cell(c.reading),
            Cell(c.limit),
            Cell(c.verdict, state=c.verdict if c.verdict in SHAPES else ""),
            Cell(c.instrument, quiet=", ".join(w for w in (c.by, f"{c.at:%Y-%m-%d}", f"line {c.line}") if w)),
        )
        for c in proof.dead_checks
    ]
    table = Table(
        ("between", "reading", "should be", "written down as", "with, by"),
        (44, 28, 28, 28, 44),
        rows,
        "Electrical checks of the dead machine",
    )
    return Section("Electrical checks, machine dead", [warning, table])


def instruments_section(proof: ProofDocument) -> Section:
    """List what measured, and its doubt."""
    if not proof.instruments:
        return Section("Instruments", [Text("No instrument is on record.")])
    rows = [(Cell(i.name), Cell(i.used_for), Cell(i.doubt), Cell(lines_words(i.lines))) for i in proof.instruments]
    table = Table(("instrument", "for", "its doubt", "where"), (34, 14, 74, 34), rows, "What measured, and its doubt")
    return Section("Instruments", [table])


def not_tested_section(proof: ProofDocument) -> Section:
    """List what was not tested."""
    rows = [
        (Cell(gap.what), Cell(gap.why), Cell(gap.do, mono=gap.do.startswith("tapewright"))) for gap in proof.not_tested
    ]
    table = Table(("not tested", "why it is counted so", "to close it"), (60, 46, 66), rows, "What was not tested")
    return Section("Not tested", [table])


def plan_section(proof: ProofDocument) -> Section:
    """Return the test plan with what of it is done."""
    return Section("The test plan, and what of it is done", [plan_table(proof.plan), claims_table(proof.plan)])


def open_section(proof: ProofDocument) -> Section:
    """List the open points, a group for each kind."""
    if not proof.open_points:
        return Section("Open points", [Text("No open point is on record. What was not tested stands above.")])
    rows: list[Sequence[Cell]] = []
    for kind, points in groupby(proof.open_points, key=lambda point: point.kind):
        rows.append((Cell(HEADS[kind], span=True),))
        state = {"outside": "outside", "not shown": "not shown"}.get(kind, "suspect")
        rows += [(Cell(p.what, state=state), Cell(p.why), Cell(str(p.line or ""))) for p in points]
    table = Table(("what", "why, and what to do", "line"), (80, 80, 12), rows, "Open points")
    return Section("Open points", [table])


def withdrawn_section(proof: ProofDocument) -> Section:
    """List the lines that were withdrawn."""
    if not proof.withdrawn:
        return Section("Withdrawn", [Text("No line of the record was withdrawn.")])
    rows = [
        (
            Cell(str(w.line), quiet=w.kind),
            Cell(w.says),
            Cell(f"{w.outside} outside, {w.unshown} not shown"),
            Cell(f"withdrawn {w.at:%Y-%m-%d} by {w.by or 'nobody named'}", quiet=w.because or "without a reason"),
            Cell(str(w.replaced_by)),
        )
        for w in proof.withdrawn
    ]
    table = Table(
        ("line", "what it said", "its verdicts", "when, by whom, because", "by line"),
        (16, 60, 26, 54, 12),
        rows,
        "Lines that were withdrawn and are in no count",
    )
    return Section("Withdrawn", [table])


def cautions_section(proof: ProofDocument) -> Section:
    """List the cautions that were taken on."""
    if not proof.cautions:
        return Section("Cautions", [Text("No caution is on record as read and taken on.")])
    blocks: list[Block] = [
        Text("These were shown before the step and taken on. Local codes and licensed practice rule.")
    ]
    blocks += [Caution(f"{c.text} ({', '.join(w for w in (c.by, f'{c.at:%Y-%m-%d}') if w)})") for c in proof.cautions]
    return Section("Cautions", blocks)


def trail_section(proof: ProofDocument) -> Section:
    """Return the fingerprints, and how to work it all out again; of a long record those with raw files first."""
    rows, lines = [], _on_paper(proof.trail.lines)
    for used in lines:
        files = "\n".join(f"{file.name or 'raw file'}\n{file.sha256}" for file in used.files)
        what = Cell(f"{used.number}", quiet=used.kind)
        when = Cell(f"{used.at:%Y-%m-%d %H:%M}", quiet=used.program)
        rows.append((what, when, Cell(used.key, quiet=files, mono=True)))
    said = "Fingerprints of every line and raw file used"
    rest = []
    if len(lines) < len(proof.trail.lines):
        said = f"Fingerprints of {len(lines)} lines: those with raw files, then the newest"
        rest = [
            Text(
                f"{len(proof.trail.lines) - len(lines)} more lines are in the book and in no list here. All "
                f"{len(proof.trail.lines)} fingerprints, oldest first, one a line, have the SHA-256 fingerprint "
                f"{_of_all(proof.trail.lines)}: that file is `keys.txt` in a bundle of it."
            )
        ]
    return Section(
        "Fingerprints, and how to work it out again",
        [
            *(Text(f"{signed.says}.") for signed in proof.signatures),
            *(Text(f"{signed.says}.") for signed in proof.signatures),
            *(Text(how) for how in proof.trail.how),
            *(
                Table(
                    ("type this",), (1,), [(Cell(command, mono=True),) for command in proof.trail.commands], "Commands"
                ),
            ),
            Table(
                ("line", "when", "fingerprint of the line; below it, those of its raw files"), (18, 28, 128), rows, said
            ),
            *rest,
        ],
    )


def _on_paper(lines: Sequence[UsedLine]) -> Sequence[UsedLine]:
    """Choose the lines that are listed, in their order."""
    if len(lines) <= MOST_LINES:
        return lines
    first = sorted(lines, key=lambda line: (not line.files, -line.number))[:MOST_LINES]
    return sorted(first, key=lambda line: line.number)


def _of_all(lines: Sequence[UsedLine]) -> str:
    return hashlib.sha256("".join(f"{line.key}\n" for line in lines).encode("ascii")).hexdigest()
