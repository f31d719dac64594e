"""`tapewright serve`: the bench, the page beside the machine."""

import gc
from pathlib import Path

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.keeping import book_option


@click.command()
@click.option("--port", type=click.IntRange(0, 65535), default=8720, show_default=True, help="0 for any free port.")
@click.option("--share", is_flag=True, help="Let other machines of the local network in, each after a pairing code.")
@click.option("--open", "open_page", is_flag=True, help="Open the page in the browser.")
@click.option("--growing", type=click.Path(path_type=Path), metavar="FOLDER",
              help="Let the live page watch files that a recorder writes in this folder.")  # fmt: skip
@book_option
def serve(port: int, share: bool, open_page: bool, growing: Path | None, book: str | None) -> None:
    """Serve the bench page on this machine until stopped with Ctrl-C.

    Nobody but this machine can reach it unless you say --share. No request leaves the machine.

    Example: tapewright serve --open
    """
    if growing is not None and not growing.is_dir():
        remedy = "make it, or name the one your recorder writes in"
        raise WrongUseError(f"--growing {growing}: there is no such folder; {remedy}.")
    # what is loaded at the start stays: looking through it for what could be thrown away only delays the first page
    gc.disable()
    from tapewright.bench.serve import serve as serve_bench
    from tapewright.book.record import open_book, recordings_folder
    from tapewright.course.deal import practice_file

    opened = open_book(book)
    try:
        serve_bench(opened, port=port, share=share, tell=click.echo, open_page="/" if open_page else None,
                    practice=practice_file(book), recordings=recordings_folder(book), growing=growing)  # fmt: skip
    finally:
        gc.enable()
        opened.close()
