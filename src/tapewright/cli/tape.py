"""`tapewright tape`: read a picture of punched tape, draw a tape to lay beside a real one."""

from pathlib import Path

import click

from tapewright.cli.output import exit_code, json_option, write_json


@click.group()
def tape() -> None:
    """Read and draw punched tape."""


@tape.command()
@click.argument("picture", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--dpi", type=click.FloatRange(min=20, max=20_000), help="Dots per inch, when you have measured it.")
@click.option("--alphabet", default="ita2", show_default=True, type=click.Choice(["ita2", "us"]), help="For the text.")
@click.option("--expect", metavar="TEXT|@FILE", help="What the tape should say.")
@click.option("--feed-line", default="auto", show_default=True, type=click.Choice(["in-line", "advanced", "auto"]),
              help="Feed holes in line with the code holes, or ahead of them.")  # fmt: skip
@click.option("--two-hole-side", default="auto", show_default=True, type=click.Choice(["top", "bottom", "auto"]),
              help="Where the side with two tracks (elements 1 and 2) lies in the picture.")  # fmt: skip
@json_option
def read(
    picture: Path, dpi: float | None, alphabet: str, expect: str | None, feed_line: str, two_hole_side: str,
    as_json: bool,
) -> int:  # fmt: skip
    """Read a scan or photograph of punched tape: text, every hole, feed and tracks, and the part at fault.

    PNG, JPEG, TIFF or WebP, 100 to 1200 dpi, any angle, one strip or several.
    """
    from tapewright.adapters.pictures import read_picture
    from tapewright.adapters.reports.tape_json import tape_document
    from tapewright.adapters.reports.tape_text import tape_text
    from tapewright.app.read_tape import read_tape_picture
    from tapewright.cli.expected import expected_codes
    from tapewright.core.alphabets import ALPHABETS
    from tapewright.core.tape.read import TapeOptions

    letters = ALPHABETS[alphabet]
    options = TapeOptions(
        alphabet=letters, dpi=dpi, expected=expected_codes(expect, letters), feed_line=feed_line,
        two_hole_side=two_hole_side,
    )  # fmt: skip
    report = read_tape_picture(read_picture(picture), options)
    if as_json:
        write_json(tape_document(report))
    else:
        click.echo(tape_text(report))
    return exit_code(report.reading.verdicts)
