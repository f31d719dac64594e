"""Demo chapter: Petrel's tape of the same message, from a scan to the pin and the tooth."""

from pathlib import Path

import click

from tapewright.terminal.demo.line_signal import TEXT


def chapter(folder: Path) -> None:
    """Punch the message on Petrel, scan it, read it beside the line capture, say what the two prove together."""
    from tapewright.terminal.run import run

    scan, marked = folder / "petrel-tape.png", folder / "petrel-tape-marked.png"
    click.echo("The same message, punched by Petrel at the same time, on the scanner at 300 dpi:\n")
    run(["tape", "practice", TEXT, "--repeat", "3", "--machine", "petrel", "-o", str(scan)])
    click.echo("\nWhat Tapewright makes of the picture, not knowing any of that:\n")
    run(["tape", "read", str(scan), "--expect", TEXT * 3, "--overlay", str(marked)])
    click.echo(f"\nEvery hole is marked in {marked.name}; a ring broken in two is a hole not cut clean.")
    click.echo(
        "\nThe tape carries the right code in every row, and the line carried it too: keys, code bars and contacts\n"
        "chose right. What is wrong on the tape is made in the punch: pin 1 leaves its chad hanging, oftener when the\n"
        "stroke has more pins to drive, and one tooth of the ratchet is short."
    )
