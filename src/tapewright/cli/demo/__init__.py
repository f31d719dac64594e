"""`tapewright demo`: the whole job so far, on the practice machine Petrel of the harbour museum at Skerry Point."""

import importlib
import tempfile
from collections.abc import Callable
from pathlib import Path

import click

#: the chapters in the order of the job: (title, module:function). A chapter takes a folder to work in.
CHAPTERS: tuple[tuple[str, str], ...] = (
    ("The line signal", "tapewright.cli.demo.line_signal:chapter"),
    ("The punched tape", "tapewright.cli.demo.punched_tape:chapter"),
    ("Heron's punch magnet", "tapewright.cli.demo.magnet:chapter"),
    ("Two screws that upset each other", "tapewright.cli.demo.punch_travel:chapter"),
    ("From the complaint to the part", "tapewright.cli.demo.part_at_fault:chapter"),
    ("Petrel's proof", "tapewright.cli.demo.proof:chapter"),
)


@click.command()
@click.option("--no-serve", is_flag=True, help="Stop after the run instead of serving the bench page.")
@click.option("--keep", type=click.Path(file_okay=False, path_type=Path), help="Keep the demo's files in this folder.")
def demo(no_serve: bool, keep: Path | None) -> None:
    """Run the whole job on the practice machine Petrel, chapter by chapter."""
    click.echo("The harbour museum at Skerry Point has two machines. This is Petrel, a keyboard with a tape punch,")
    click.echo("as the practice machine plays it: the faults are known, the measuring code does not know them.")
    with tempfile.TemporaryDirectory(prefix="tapewright-demo-") as scratch:
        folder = keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        for number, (title, place) in enumerate(CHAPTERS, start=1):
            click.echo(f"\n== {number}. {title} ==\n")
            _load(place)(folder)
    if not no_serve:
        click.echo("\nThe bench page is not built yet, so there is nothing to serve.")


def _load(place: str) -> Callable[[Path], None]:
    module, _, name = place.partition(":")
    chapter: Callable[[Path], None] = getattr(importlib.import_module(module), name)
    return chapter
