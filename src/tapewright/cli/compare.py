"""`tapewright compare`: a line capture and a tape picture of the same event."""

from pathlib import Path

import click

from tapewright.cli.output import DONE, OUTSIDE, json_option, progress, write_json
from tapewright.core.alphabets import ALPHABETS
from tapewright.errors import InputError


@click.command()
@click.argument("line_capture", type=click.Path(path_type=Path))
@click.argument("tape_picture", type=click.Path(path_type=Path))
@click.option("--expect", metavar="TEXT|@FILE", help="What was sent; without it no side can be cleared.")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True)
@click.option("--strip", type=click.IntRange(1), default=1, show_default=True, help="Which strip of the picture.")
@json_option
def compare(
    line_capture: Path, tape_picture: Path, expect: str | None, alphabet: str, strip: int, as_json: bool
) -> int:
    """Say on which side a fault lies: the contacts, the punch, or the keys and code bars before both.

    LINE_CAPTURE and TAPE_PICTURE must be of the same event: the same keys, struck once, recorded and punched.

    Example: tapewright compare capture.csv scan.png --expect "RYRYRY"
    """
    from tapewright.adapters.pictures.decode import read_picture
    from tapewright.adapters.reports.compare_report import compare_document, compare_text
    from tapewright.app.read_line import HowToRead, read_line
    from tapewright.app.read_tape import read_tape_picture
    from tapewright.cli.tape.read import expected_codes
    from tapewright.core.comparison.two_witnesses import compare_witnesses
    from tapewright.core.line.line_result import LineSettings
    from tapewright.core.tape.read import TapeOptions, message
    from tapewright.wiring import capture_files

    letters = ALPHABETS[alphabet]
    sent = expected_codes(expect, letters)
    with progress("reading the capture") as report_progress:
        settings = LineSettings(alphabet=letters)
        line = read_line(line_capture, HowToRead(), settings, files=capture_files(), progress=report_progress)
    codes = line.result.codes
    if not codes:
        raise InputError(str(line_capture), expected="characters on the line", found="none that can be read",
                         do="See what `tapewright line read` says of it.")  # fmt: skip
    tape = read_tape_picture(read_picture(tape_picture), TapeOptions(alphabet=letters, expected=sent or codes))
    if strip > len(tape.reading.strips):
        raise InputError(str(tape_picture), expected=f"strip {strip}", found=f"{len(tape.reading.strips)} strips")
    read = tape.reading.strips[strip - 1]
    found = compare_witnesses(codes, message(read.codes, sent or codes), sent)
    said = [finding.text for finding in read.findings]
    if as_json:
        write_json(compare_document(found, line_capture.name, tape_picture.name, said))
    else:
        click.echo(compare_text(found, letters, said))
    return OUTSIDE if found.places or any(found.extras) else DONE
