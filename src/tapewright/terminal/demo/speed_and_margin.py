"""Demo chapter: Petrel's motor brought to speed through its supply, then its receiver's range."""

from pathlib import Path

import click


def chapter(folder: Path) -> None:
    """Say what the motor must turn at, bring it there under a ceiling, find the margin, prove the speed two ways."""
    from tapewright.terminal.run import run

    gears = ["--gears", "1:5", "--units", "7.42"]
    click.echo("Petrel's motor drives the cam shaft through 1:5. What must it turn at for 45.45 Bd?\n")
    run(["motor", "train", *gears])
    click.echo("\nA bench supply brings it there, never above 70 V and 1.5 A (nothing moves here but numbers):\n")
    ceiling = ["--first-volts", "40", "--most-volts", "70", "--most-amps", "1.5"]
    run(["motor", "supply", *gears, "--to", "practice:petrel", *ceiling, "--no-confirm", "--acknowledged"])
    click.echo("\nA strobe lamp and a stopwatch say the same, so the speed is proven:\n")
    run(["motor", "speed", *gears, "--flashes", "306.5", "--spots", "10", "--drift=-4/10", "--timed", "300/48.95"])
    click.echo("\nNow the receiver may be judged. Fourteen questions, answered by Petrel itself:\n")
    run(["line", "margin", "--to", "practice:petrel", "--speed-proven"])
    click.echo("\nSo: the pointer to the middle of its range; the narrow window is the selector's, and comes next.")
