"""Demo chapter: Petrel as found against as left, and its record as a bundle that goes along with it."""

import contextlib
import io
from pathlib import Path

import click

from tapewright.terminal.demo import proof


def chapter(folder: Path) -> None:
    """Show what really changed, look whether the book is whole, and carry it to another bench."""
    book = folder / proof.LATER_BOOK
    if not book.exists():
        with contextlib.redirect_stdout(io.StringIO()):
            proof.chapter(folder)
    click.echo("What changed on Petrel beyond its doubt, the clearest first:\n")
    plot = str(folder / "petrel-before-after.svg")
    report = _said("machine", "compare", "Petrel", "--book", str(book), "--out-plot", plot)
    click.echo(report.split("\nDiffers, the clearest first\n")[-1].split("\nNo difference shown")[0])
    click.echo("The record goes along with the machine, as a bundle that ordinary tools can check:\n")
    bundle = folder / "petrel.zip"
    click.echo(_said("book", "check", "--book", str(book)), nl=False)
    click.echo(_said("book", "export", "-o", str(bundle), "--machine", "Petrel", "--book", str(book)), nl=False)
    click.echo(_said("book", "import", str(bundle), "--book", str(folder / "other-bench.book")), nl=False)


def _said(*words: str) -> str:
    """Run a command and give what it says."""
    from tapewright.terminal.run import run

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        run(list(words))
    return out.getvalue()
