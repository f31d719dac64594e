"""Demo chapter: the museum's book, with Petrel and Heron on the shelf and what the chapters before recorded of them."""

import contextlib
import io
from collections.abc import Iterator
from pathlib import Path

import click

from tapewright.terminal.demo.line_signal import TEXT

BOOK = "skerry-point.book"
FOUND = ("--phase", "as found", "--by", "Ada", "--temperature", "17", "--running", "10")
LATER = ("--phase", "between", "--by", "Ada")

MACHINES = (
    ("Petrel", "--model", "keyboard with tape punch", "--nominal", "45.45", "--advisor", "keyboard-punch"),
    ("Heron", "--model", "page printer", "--nominal", "50", "--advisor", "page-printer"),
)
#: (machine, kind, fields) as they came to the museum
LOG = (
    ("Petrel", "intake", "state=gummed, motor turns by hand", "came_from=the pilot station's loft"),
    ("Petrel", "record", "which=start", "text=Ran last when the loft was cleared; nothing is known of its settings."),
    ("Petrel", "dismantled", "part=punch block", "bag=7", "shims=2 x 0.10 mm under the left foot"),
    ("Heron", "intake", "state=clean, punch magnet hums and does nothing", "came_from=the harbour office"),
    ("Heron", "caution", "caution=The coil kicks back when its current is cut: no hand on the contact",
     "acknowledged=yes"),
    ("Heron", "adjustment", "what=armature freed from its pole", "why=it stuck; the pole face was oily",
     "recheck=landing time"),
)  # fmt: skip
COIL = ("--shunt", "1", "--supply", "48", "--series-ohm", "37", "--instrument", "storage oscilloscope")


def chapter(folder: Path) -> None:
    """Write down what the chapters before recorded, and look at it."""
    from tapewright.terminal.run import run

    click.echo("All of it goes into the museum's book: results with their raw files and settings, what was taken")
    click.echo("apart, what was changed. Nothing in it is ever rubbed out.\n")
    book = make_book(folder)
    for words in (["machine", "list"], ["machine", "show", "Heron"]):
        run([*words, "--book", str(book)])
        click.echo()
    click.echo("And measured again, from nothing but the book:\n")
    run(["book", "recompute", "--book", str(book)])


def make_book(folder: Path) -> Path:
    """Write the book beside the chapters' files; give where it is. What is there already is kept."""
    book = folder / BOOK
    if not book.exists():
        for words in _steps(folder):
            quiet(*words, "--book", str(book))
    return book


def quiet(*words: str) -> None:
    """Run a command for what it writes to disk."""
    from tapewright.terminal.run import run

    with contextlib.redirect_stdout(io.StringIO()):
        run(list(words))


def _steps(folder: Path) -> Iterator[list[str]]:
    """Return the commands, in the order of the work; of chapters that left no file nothing is written."""
    for name, *about in MACHINES:
        yield ["machine", "add", name, *about, "--by", "Ada"]
    for machine, kind, *fields in LOG[:-1]:
        yield ["machine", "log", machine, kind, *fields, "--by", "Ada"]
    sent = ("--expect", TEXT * 3)
    for file, command, *more in (
        ("petrel-line.csv", "line read", "--nominal", "45.45", *sent, "--instrument", "small logic analyser",
         "--machine", "Petrel", *FOUND),
        ("petrel-tape.png", "tape read", *sent, "--instrument", "flat bed scanner", "--machine", "Petrel", *FOUND),
        ("punch-travel.toml", "trim", "--machine", "Petrel", *LATER),
        ("heron-stuck.csv", "drive read", *COIL, "--machine", "Heron", *FOUND),
    ):  # fmt: skip
        if (folder / file).exists():
            yield [*command.split(), str(folder / file), *more]
    readings = folder / "petrel-readings.toml"
    journal = ("--readings", str(readings)) if readings.exists() else ()
    yield ["sheet", "check", "petrel", *journal, "--machine", "Petrel", *LATER]
    machine, kind, *fields = LOG[-1]
    yield ["machine", "log", machine, kind, *fields, "--by", "Ada"]
    if (folder / "heron-free.csv").exists():
        yield ["drive", "read", str(folder / "heron-free.csv"), *COIL, "--machine", "Heron", *LATER]
