"""`tapewright tape draw`: a tape as it should be, 1:1.

`tapewright tape read`: from a picture of punched tape to the pin, the feed or the die at fault.
"""

from pathlib import Path

import click

from tapewright.alphabets import ALPHABETS, encode
from tapewright.errors import WrongUseError
from tapewright.furniture.command import exit_code, json_option, progress
from tapewright.furniture.document import encode_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import click_options, files_given, text_argument
from tapewright.furniture.settings import to_steps
from tapewright.tape.settings import TapeSettings


@click.command()
@click.argument("picture", type=click.Path(path_type=Path), nargs=-1, required=True)
@click_options(TapeSettings)
@click.option("--limits", type=click.Path(path_type=Path), help="Your own limits, as TOML.")
@click.option("--overlay", type=click.Path(path_type=Path), help="Write the picture with every hole marked: a PNG.")
@keep_options
@json_option
def read(
    picture: tuple[Path, ...],
    settings: TapeSettings,
    overlay: Path | None,
    limits: Path | None,
    keep: Keeping | None,
    as_json: bool,
) -> int:
    """Read a scan or photograph of punched tape: text, every hole, feed and tracks, and the part at fault.

    PICTURE is PNG, JPEG, TIFF or WebP, 100 to 1200 dpi, at any angle, one strip or several. Several pictures of one
    tape, a folder of them, or a TIFF of several pages are joined by the rows they share.

    Example: tapewright tape read scan.png --expect "RYRYRY" --overlay marked.png
    """
    from tapewright.pictures.decode import has_pages, read_picture
    from tapewright.tape.overlay import write_overlay
    from tapewright.tape.read import document, measure_picture
    from tapewright.tape.words import tape_text

    if len(picture) > 1 or picture[0].is_dir() or has_pages(picture[0]):
        return _read_several(picture, settings, overlay, limits, keep, as_json=as_json)
    decoded = read_picture(picture[0])
    tape = measure_picture(decoded, settings, limits)
    if overlay is not None:
        write_overlay(decoded.picture, tape, overlay)
    click.echo(encode_json(tape) if as_json else tape_text(tape, settings))
    files = files_given(picture=picture[0], limits=limits)
    keep_result(keep, lambda: document(tape), files, "tape read", to_steps(settings), quiet=as_json)
    return exit_code(tape.verdicts)


def _read_several(
    pictures: tuple[Path, ...],
    settings: TapeSettings,
    overlay: Path | None,
    limits: Path | None,
    keep: Keeping | None,
    *,
    as_json: bool,
) -> int:
    from tapewright.tape.read import measure_several
    from tapewright.tape.words import joined_text

    if overlay is not None or keep is not None:
        raise WrongUseError("--overlay and --machine go with one picture: give each by itself.")
    with progress("reading the pictures") as report:
        joined = measure_several(pictures, settings, limits, report)
    click.echo(encode_json(joined) if as_json else joined_text(joined))
    return exit_code(verdict for tape in joined.pictures for verdict in tape.verdicts)


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
    from tapewright.tape.drawing import draw_tape
    from tapewright.tape.plot import write_drawing

    try:
        codes = encode(text_argument(text), ALPHABETS[alphabet])
        drawn = draw_tape(codes, advanced=feed_line == "advanced", banner=banner)
    except ValueError as reason:
        raise WrongUseError(f"{reason}.") from reason
    write_drawing(drawn, f"{len(codes)} codes, feed holes {feed_line}", out)
    click.echo(f"Wrote {out}: {len(drawn.codes)} rows, {drawn.length_mm:.2f} by {drawn.width_mm:.2f} mm, 1:1.")
