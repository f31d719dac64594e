"""The demo's book: Petrel and Heron on the shelf, with what the chapters before recorded of Petrel as found."""

import contextlib
import io
from pathlib import Path

from tapewright.cli.demo.line_signal import TEXT

BOOK = "skerry-point.book"
PHASE = ["--phase", "as found", "--by", "Ada"]


def make_book(folder: Path) -> Path:
    """Write the book beside the chapters' files; give where it is. What is there already is kept."""
    from tapewright.cli.run import run

    book = folder / BOOK
    if book.exists():
        return book
    at = ["--book", str(book)]
    steps = [
        ["machine", "add", "Petrel", "--model", "keyboard punch", "--nominal", "45.45", "--advisor", "keyboard-punch"],
        ["machine", "add", "Heron", "--model", "page printer", "--nominal", "50", "--advisor", "page-printer"],
    ]
    line, tape, text = folder / "petrel-line.csv", folder / "petrel-tape.png", TEXT * 3
    if line.exists():
        said = ["--nominal", "45.45", "--expect", text]
        steps.append(["line", "read", str(line), *said, "--machine", "Petrel", *PHASE])
    if tape.exists():
        steps.append(["tape", "read", str(tape), "--expect", text, "--machine", "Petrel", *PHASE])
    steps.append(["sheet", "check", "petrel", "--machine", "Petrel", *PHASE])
    with contextlib.redirect_stdout(io.StringIO()):
        for step in steps:
            run([*step, *at])
    return book
