"""Demo chapter: Petrel's line signal, from a recording to the contact to set first."""

from pathlib import Path

import click

TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890 RYRYRY"


def chapter(folder: Path) -> None:
    """Record Petrel with a small logic analyser, read the capture, say what to set first."""
    from tapewright.terminal.run import run

    capture, plot = folder / "petrel-line.csv", folder / "petrel-line.svg"
    click.echo("Petrel's contacts are recorded while its keys are struck at full speed:\n")
    compose = ["line", "compose", TEXT, "--repeat", "3", "--machine", "petrel", "-o", str(capture)]
    run(compose)
    click.echo("\nWhat Tapewright makes of the recording, not knowing any of that:\n")
    run(["line", "read", str(capture), "--nominal", "45.45", "--expect", TEXT * 3, "--out-plot", str(plot)])
    click.echo("\nSo: the motor first (its supply up a little), then contact 3; then all that is timed, again.")
