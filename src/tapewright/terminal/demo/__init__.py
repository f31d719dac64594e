"""`tapewright demo`: the whole job, on the practice machine Petrel of the harbour museum at Skerry Point."""

import contextlib
import importlib
import io
import os
import re
import tempfile
import textwrap
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import click

from tapewright.terminal.demo.bench_book import make_book


class Chapter(NamedTuple):
    """One chapter of the demo.

    Attributes:
        title: what it is about.
        place: module:function; the function takes a folder to work in.
        headline: which lines of what it prints are its headline.
    """

    title: str
    place: str
    headline: str


#: the chapters in the order of the job
CHAPTERS: tuple[Chapter, ...] = (
    Chapter("The line signal", "terminal.demo.line_signal:chapter", r"  \d\. "),
    Chapter("The punched tape", "terminal.demo.punched_tape:chapter", r"Every \d+ rows|Track \d is not cut clean"),
    Chapter("Heron's punch magnet", "terminal.demo.magnet:chapter", r"heron-\w+\.csv|  The armature|  Lands after"),
    Chapter("Two screws that upset each other", "terminal.demo.punch_travel:chapter", r"  All in all|  punch-travel"),
    Chapter(
        "Speed, and the receiver's margin",
        "terminal.demo.speed_and_margin:chapter",
        r"Done after|The machine runs|  Margin|  OUTSIDE    receiver margin",
    ),
    Chapter(
        "From the complaint to the part",
        "terminal.demo.part_at_fault:chapter",
        r" +\d+ min  remedy| +\d+ min in all|Every test in the order",
    ),
    Chapter("The museum's book", "terminal.demo.bench_book:chapter", r"\d+ measured again"),
    Chapter("Petrel's proof", "terminal.demo.proof:chapter", r"\d+ within, \d+ outside"),
    Chapter("Before and after", "terminal.demo.before_and_after:chapter", r"  closing of contact|.*every hash and key"),
)


@click.command()
@click.option("--verbose", is_flag=True, help="Show everything that the chapters print, not their headlines alone.")
@click.option("--no-serve", is_flag=True, help="Stop after the run instead of serving the bench page.")
@click.option("--keep", type=click.Path(file_okay=False, path_type=Path), help="Keep the demo's files in this folder.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port of the bench; 0 for any free one.")
def demo(verbose: bool, no_serve: bool, keep: Path | None, port: int) -> None:
    """Run the whole job on the practice machine Petrel, chapter by chapter.

    A headline of each chapter is shown: what was measured, as the commands print it. --verbose shows all of it.
    """
    click.echo("The harbour museum at Skerry Point has two machines. This is Petrel, a keyboard with a tape punch,")
    click.echo("as the practice machine plays it: the faults are known, the measuring code does not know them.")
    with tempfile.TemporaryDirectory(prefix="tapewright-demo-") as scratch:
        folder = keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        for number, chapter in enumerate(CHAPTERS, start=1):
            click.echo(f"\n== {number}. {chapter.title} ==\n" if verbose else f"\n{number}. {chapter.title}")
            if verbose:
                _load(chapter.place)(folder)
            else:
                click.echo("\n".join(headline(chapter, folder)))
        if not verbose:
            click.echo("\nAll that the chapters print is shown by `tapewright demo --verbose`.")
        book = make_book(folder)
        if not no_serve:
            _serve(book, port)


def headline(chapter: Chapter, folder: Path) -> list[str]:
    """Play a chapter unheard; return those of its lines that say what came out, indented."""
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed):
        _load(chapter.place)(folder)
    lines = printed.getvalue().replace(f"{folder}{os.sep}", "").splitlines()
    said = [line.strip() for line in lines if re.match(chapter.headline, line)]
    return [textwrap.fill(line, 100, initial_indent="   ", subsequent_indent="     ") for line in said]


def _serve(book: Path, port: int) -> None:
    """Open the bench on the demo's book, until stopped."""
    from tapewright.bench.serve import serve
    from tapewright.book.record import open_book, recordings_folder
    from tapewright.course.deal import practice_file

    click.echo("\n== The bench ==\n\nAll of this, on the page beside the machine:")
    opened = open_book(str(book))
    try:
        serve(opened, port=port, share=False, tell=click.echo, open_page="/", practice=practice_file(str(book)),
              recordings=recordings_folder(str(book)))  # fmt: skip
    finally:
        opened.close()


def _load(place: str) -> Callable[[Path], None]:
    module, _, name = place.partition(":")
    chapter: Callable[[Path], None] = getattr(importlib.import_module(f"tapewright.{module}"), name)
    return chapter
