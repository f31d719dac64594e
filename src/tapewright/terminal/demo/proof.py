"""Demo chapter: Petrel from as found to as left, and the proof that goes with the machine.

This goes on in a copy of the museum's book: the bench opens on the book itself, where Petrel stands as it was found and
its fault is still to be looked for.
"""

from pathlib import Path

import click

from tapewright.terminal.demo.bench_book import make_book, quiet
from tapewright.terminal.demo.line_signal import TEXT

#: the copy, some weeks on
LATER_BOOK = "petrel.book"
#: what was changed: (what, before, after, unit, why)
CHANGES = (
    ("motor supply raised", "22.22", "22.00", "ms", "the unit was one per cent long"),
    ("contact 3 reset", "1.52", "0.02", "ms", "it closed late"),
    ("pin 1 ground, ratchet wheel renewed", "", "", "", "chads hung, one tooth in fourteen was short"),
)
LEFT = ("--temperature", "18", "--running", "40")


def chapter(folder: Path) -> None:
    """Write down what was done to Petrel and what it does now; prove it."""
    from tapewright.terminal.run import run

    book = folder / LATER_BOOK
    if not book.exists():
        click.echo("The book goes on in a copy, petrel.book: the bench opens on Petrel as it was found.")
        quiet("book", "backup", str(book), "--book", str(make_book(folder)))
        click.echo("Motor, contact 3, pin 1 and the ratchet are put right, each with a line in the book.")
        _changed(book)
        click.echo("Then it is measured again. (The practice machine plays it in order now, with Heron's parts.)\n")
        _as_left(folder, book)
    out = [word for name in ("petrel-proof.pdf", "petrel-proof.html") for word in ("-o", str(folder / name))]
    run(["machine", "prove", "Petrel", "--book", str(book), *out])
    click.echo("\nIt says what was not tested, too: `tapewright machine plan Petrel` is the sheet to go on with.")


def _changed(book: Path) -> None:
    caution = "Pull the mains plug and let stored charge go before you reach in"
    _log(book, "caution", f"caution={caution}", "acknowledged=yes")
    for what, before, after, unit, why in CHANGES:
        said = [f"{key}={value}" for key, value in (("before", before), ("after", after), ("unit", unit)) if value]
        _log(book, "adjustment", f"what={what}", f"why={why}", *said)


def _as_left(folder: Path, book: Path) -> None:
    line, tape = folder / "petrel-left-line.csv", folder / "petrel-left-tape.png"
    quiet("line", "compose", "--pattern", "all-pairs", "--machine", "heron", "-o", str(line))
    quiet("tape", "practice", TEXT, "--repeat", "3", "--machine", "heron", "-o", str(tape))
    _measure(folder, book, "petrel-left", "as left", "pattern:all-pairs", LEFT)


def _measure(folder: Path, book: Path, name: str, phase: str, sent: str, noted: tuple[str, ...]) -> None:
    """Read capture and tape, and keep both in the book."""
    keep = ["--machine", "Petrel", "--book", str(book), "--phase", phase, "--by", "Ada", *noted]
    for command, ending, expect, more in (
        ("line", "csv", sent, ["--nominal", "45.45", "--instrument", "small logic analyser"]),
        ("tape", "png", TEXT * 3, ["--instrument", "flat bed scanner"]),
    ):
        file = folder / f"{name}-{command}.{ending}"
        if file.exists():
            quiet(command, "read", str(file), "--expect", expect, *more, *keep)


def _log(book: Path, kind: str, *said: str) -> None:
    quiet("machine", "log", "Petrel", kind, *said, "--by", "Ada", "--book", str(book))
