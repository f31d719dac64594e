"""`tapewright tape read`: from a picture of punched tape to the pin, the feed or the die at fault."""

from pathlib import Path
from typing import Any

import click

from tapewright.cli.output import exit_code, json_option, write_json
from tapewright.cli.parameters import Number, text_argument
from tapewright.core.alphabets import ALPHABETS, Alphabet, encode
from tapewright.errors import WrongUseError


@click.command()
@click.argument("picture", type=click.Path(path_type=Path))
@click.option("--dpi", type=Number(20, 20_000), help="Dots per inch, when you have measured it.")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True)
@click.option("--expect", metavar="TEXT|@FILE", help="What the tape should say.")
@click.option("--feed-line", default="auto", show_default=True, type=click.Choice(["in-line", "advanced", "auto"]),
              help="Feed holes in line with the code holes, or ahead of them.")  # fmt: skip
@click.option("--two-hole-side", default="auto", show_default=True, type=click.Choice(["top", "bottom", "auto"]),
              help="Where the side with two tracks (elements 1 and 2) lies in the picture.")  # fmt: skip
@click.option("--limits", type=click.Path(path_type=Path), help="Your own limits, as TOML.")
@click.option("--overlay", type=click.Path(path_type=Path), help="Write the picture with every hole marked: a PNG.")
@json_option
def read(picture: Path, overlay: Path | None, as_json: bool, **said: Any) -> int:
    """Read a scan or photograph of punched tape: text, every hole, feed and tracks, and the part at fault.

    PICTURE is PNG, JPEG, TIFF or WebP, 100 to 1200 dpi, at any angle, one strip or several.

    Example: tapewright tape read scan.png --expect "RYRYRY" --overlay marked.png
    """
    from tapewright.adapters.pictures.decode import read_picture
    from tapewright.adapters.pictures.overlay import write_overlay
    from tapewright.adapters.reports.tape_json import tape_document
    from tapewright.adapters.reports.tape_text import tape_text
    from tapewright.app.read_tape import read_tape_picture

    source = read_picture(picture)
    options = _options(said)
    report = read_tape_picture(source, options)
    if overlay is not None:
        write_overlay(source.picture, report.reading, overlay)
    if as_json:
        write_json(tape_document(report))
    else:
        click.echo(tape_text(report, options.alphabet))
    return exit_code(report.reading.verdicts)


def _options(said: dict[str, Any]) -> Any:
    from tapewright.adapters.limits_file import read_limits
    from tapewright.core.tape.read import TapeOptions
    from tapewright.core.tape.verdict import LIMITS, MEASURES

    alphabet = ALPHABETS[said["alphabet"]]
    limits = LIMITS
    if said["limits"]:
        own = read_limits(said["limits"], {check: unit for check, (unit, _) in MEASURES.items()})
        replaced = {limit.check for limit in own}
        limits = (*(limit for limit in LIMITS if limit.check not in replaced), *own)
    return TapeOptions(
        alphabet=alphabet, dpi=said["dpi"], expected=expected_codes(said["expect"], alphabet),
        feed_line=said["feed_line"], two_hole_side=said["two_hole_side"], limits=limits,
    )  # fmt: skip


def expected_codes(text: str | None, alphabet: Alphabet) -> tuple[str, ...] | None:
    """Give the codes of the expected text, None when none was given.

    Raises:
        WrongUseError: when the alphabet cannot send the text.
    """
    if text is None:
        return None
    try:
        return tuple(encode(text_argument(text), alphabet))
    except ValueError as reason:
        raise WrongUseError(f"--expect: {reason}.") from reason
