"""`tapewright proof`: what is done with a proof alone, without the book it was made from."""

from pathlib import Path

import click

from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, write_json


@click.group()
def proof() -> None:
    """Check a proof without the book it was made from."""


@proof.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@json_option
def verify(file: Path, as_json: bool) -> int:
    """Say whether a proof (PDF or JSON) is whole, and by whose key it is signed.

    Exit code 0 when it is whole and signed by a bench known here, 1 when it was altered, 3 when it is whole but not
    signed by a bench known here. `tapewright book bench --know KEY --as NAME` knows a bench.

    Example: tapewright proof verify petrel.pdf
    """
    from tapewright.book.keys import known_benches
    from tapewright.proof.seal import verify as look

    found = look(file, known_benches())
    if as_json:
        write_json(
            {
                "format": "tapewright/proof-verify/1",
                "file": str(file),
                "state": found.state,
                "bench": found.bench or None,
                "name": found.name or None,
                "says": found.says,
                "sha256": found.sha256,
            }
        )
    else:
        click.echo(f"{file}: {found.says}.")
    return {"whole": DONE, "altered": OUTSIDE, "not known": NOT_SHOWN}[found.state]
