"""`tapewright demo`: the whole job, on the practice machine Petrel of the harbour museum at Skerry Point."""

import importlib
import tempfile
from collections.abc import Callable
from pathlib import Path

import click

from tapewright.terminal.demo.bench_book import make_book

#: the chapters in the order of the job: (title, module:function). A chapter takes a folder to work in.
CHAPTERS: tuple[tuple[str, str], ...] = (
    ("The line signal", "terminal.demo.line_signal:chapter"),
    ("The punched tape", "terminal.demo.punched_tape:chapter"),
    ("Heron's punch magnet", "terminal.demo.magnet:chapter"),
    ("Two screws that upset each other", "terminal.demo.punch_travel:chapter"),
    ("Speed, and the receiver's margin", "terminal.demo.speed_and_margin:chapter"),
    ("From the complaint to the part", "terminal.demo.part_at_fault:chapter"),
    ("The museum's book", "terminal.demo.bench_book:chapter"),
    ("Petrel's proof", "terminal.demo.proof:chapter"),
    ("Before and after", "terminal.demo.before_and_after:chapter"),
)


@click.command()
@click.option("--no-serve", is_flag=True, help="Stop after the run instead of serving the bench page.")
@click.option("--keep", type=click.Path(file_okay=False, path_type=Path), help="Keep the demo's files in this folder.")
@click.option("--port", type=click.IntRange(0, 65535), default=0, help="Port of the bench; 0 for any free one.")
def demo(no_serve: bool, keep: Path | None, port: int) -> None:
    """Run the whole job on the practice machine Petrel, chapter by chapter."""
    click.echo("The harbour museum at Skerry Point has two machines. This is Petrel, a keyboard with a tape punch,")
    click.echo("as the practice machine plays it: the faults are known, the measuring code does not know them.")
    with tempfile.TemporaryDirectory(prefix="tapewright-demo-") as scratch:
        folder = keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        for number, (title, place) in enumerate(CHAPTERS, start=1):
            click.echo(f"\n== {number}. {title} ==\n")
            _load(place)(folder)
        book = make_book(folder)
        if not no_serve:
            _serve(book, port)


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
