"""`tapewright trim`: from trials of knobs and readings to the next move."""

from pathlib import Path
from tempfile import TemporaryDirectory

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.command import exit_code, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import files_given
from tapewright.furniture.record import record
from tapewright.gauges.trim.measure import measure
from tapewright.gauges.trim.report import trim_json, trim_text


@click.command()
@click.argument("trials", metavar="[TRIALS]", default="")
@click.option("--sheet", metavar="SHEET", help="Sheet that readings with a `requirement` take their limits from; with "
              "--machine, else the one in the book.")  # fmt: skip
@click.option("--variant", default="", help="Which variant of the machine; else what the sheet says.")
@keep_options
@json_option
def trim(trials: str, sheet: str | None, variant: str, keep: Keeping | None, as_json: bool) -> int:
    """Recommend one move from the trials in TRIALS (TOML or CSV), predict every reading, say how sure.

    With --machine and no TRIALS, from the newest trials of that machine in the book; nothing is written then.

    Exit code 0 when every reading is shown within, 1 when one is outside, 3 when one is not shown.
    """
    if not trials and keep is None:
        raise WrongUseError("trim: give a file of TRIALS, or --machine NAME for the newest trials in the book.")
    given = files_given(trials=Path(trials) if trials else None, sheet=Path(sheet) if sheet else None)
    with TemporaryDirectory(prefix="tapewright-") as folder:
        files, settings = _from_book(keep, given, variant, Path(folder), quiet=as_json)
        advice = measure(files, settings)
        if as_json:
            write_json(trim_json(advice))
        else:
            click.echo(trim_text(advice))
        if trials:
            keep_result(keep, lambda: trim_json(advice), files, "trim", settings, quiet=as_json)
    return exit_code(advice.now)


def _from_book(
    keep: Keeping | None, given: dict[str, Path], variant: str, folder: Path, *, quiet: bool
) -> tuple[dict[str, Path], dict[str, str]]:
    """Take from the machine's record what was not given, and say so; give the files and what is set for them."""
    if keep is None:
        return given, {"variant": variant} if "sheet" in given else {}
    files, taken = record().fetch_for_trim(keep.book, keep.machine, given, folder)
    for role, held in taken.items():
        click.echo(f"{role} from the book: {held.name}, line {held.line.number}.\n", err=quiet)
    if "sheet" not in files:
        return files, {}
    return files, {"variant": variant or (taken["sheet"].variant if "sheet" in taken else "")}
