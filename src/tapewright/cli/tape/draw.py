"""`tapewright tape draw`: a tape as it should be, 1:1."""

from pathlib import Path

import click

from tapewright.cli.parameters import text_argument
from tapewright.core.alphabets import ALPHABETS, encode
from tapewright.errors import WrongUseError


@click.command()
@click.argument("text")
@click.option("-o", "--out", required=True, type=click.Path(path_type=Path), help="FILE.svg or FILE.pdf.")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True,
              help="Code table: ita2, or us for the US commercial figures.")
@click.option("--feed-line", type=click.Choice(["in-line", "advanced"]), default="in-line", show_default=True,
              help="Feed holes in line with the code holes, or ahead of them.")  # fmt: skip
@click.option("--banner", default="", help="Words in readable letters of holes, before the message.")
def draw(text: str, out: Path, alphabet: str, feed_line: str, banner: str) -> None:
    """Draw the tape of TEXT (or @FILE) 1:1, as a gauge strip to lay beside a real one.

    Print it without fitting it to the page, and check the ruler below the tape with a steel rule before use.

    Example: tapewright tape draw "RYRYRYRYRY" -o gauge.pdf
    """
    from tapewright.adapters.reports.tape_drawing import write_drawing
    from tapewright.core.tape.drawing import draw_tape

    try:
        codes = encode(text_argument(text), ALPHABETS[alphabet])
        drawn = draw_tape(codes, advanced=feed_line == "advanced", banner=banner)
    except ValueError as reason:
        raise WrongUseError(f"{reason}.") from reason
    write_drawing(drawn, f"{len(codes)} codes, feed holes {feed_line}", out)
    click.echo(f"Wrote {out}: {len(drawn.codes)} rows, {drawn.length_mm:.2f} by {drawn.width_mm:.2f} mm, 1:1.")
