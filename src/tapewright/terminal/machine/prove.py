"""`tapewright machine prove` and `plan`."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tapewright.errors import WrongUseError
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, progress, write_json
from tapewright.furniture.keeping import book_option

if TYPE_CHECKING:
    from tapewright.book.ports import Book
    from tapewright.furniture.pages.blocks import Pages
    from tapewright.proof.document import ProofDocument
    from tapewright.proof.raw_pictures import RawPictures

PAPERS = ("a4", "letter")
#: share of the work done once the proof is made; the rest is setting it
MADE = 0.3

paper_option = click.option("--paper", type=click.Choice(PAPERS), default="a4", show_default=True, help="For a PDF.")
claim_option = click.option(
    "--one-in",
    type=click.IntRange(2, 1_000_000),
    default=1000,
    show_default=True,
    help="The claim wanted: fewer than 1 wrong character in so many.",
)


@click.command()
@click.argument("name")
@click.option(
    "-o",
    "--out",
    multiple=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="FILE.pdf, FILE.html or FILE.json; may stand several times.",
)
@paper_option
@claim_option
@book_option
@json_option
def prove(name: str, out: tuple[Path, ...], paper: str, one_in: int, book: str | None, as_json: bool) -> int:
    """Write the proof of a machine: what it was, what it does, how sure that is, what was not shown.

    NAME is its name or its key. Without -o the first page is printed here. The same book gives the same bytes. A PDF
    or JSON is sealed with the key of this bench: `tapewright proof verify FILE` checks it without the book.

    Example: tapewright machine prove Petrel -o petrel.pdf --paper letter
    """
    from tapewright.book.keys import own_key
    from tapewright.furniture.document import to_builtins
    from tapewright.furniture.whole_file import write_whole
    from tapewright.proof.proof_pages import proof_pages, proof_text
    from tapewright.proof.prove_machine import prove_machine
    from tapewright.proof.seal import proof_bytes

    _endings(out, (".pdf", ".html", ".json"))
    with progress(f"Proving {name}") as report:
        with _opened(book) as there:
            proof = prove_machine(there, name, one_in=one_in)
            report(MADE / 2)
            raw = _pictures(there, proof) if any(path.suffix.lower() != ".json" for path in out) else None
        report(MADE)
        for done, path in enumerate(out, start=1):
            ending, document = path.suffix.lower(), to_builtins(proof)
            write_whole(path, proof_bytes(ending, paper, document, lambda: proof_pages(proof, raw), own_key()))
            report(MADE + (1 - MADE) * done / len(out))
    if as_json:
        write_json(to_builtins(proof))
    else:
        click.echo("\n".join([proof_text(proof), *(f"Wrote {path}." for path in out)]))
    page = proof.first_page.counts
    # where nothing was judged, nothing is shown
    return OUTSIDE if page.outside else NOT_SHOWN if page.unshown or not page.within else DONE


@click.command()
@click.argument("name")
@click.option(
    "-o",
    "--out",
    multiple=True,
    type=click.Path(dir_okay=False, path_type=Path),
    help="FILE.pdf, FILE.html or FILE.json; may stand several times.",
)
@paper_option
@claim_option
@book_option
@json_option
def plan(name: str, out: tuple[Path, ...], paper: str, one_in: int, book: str | None, as_json: bool) -> None:
    """Plan the tests that a proof asks for: characters, time, tape, command, and what of it is done.

    NAME is its name or its key. -o writes a sheet to tick off.

    Example: tapewright machine plan Petrel -o plan.pdf --one-in 3000
    """
    from tapewright.furniture.document import to_builtins
    from tapewright.proof.plan_pages import plan_pages, plan_text

    _endings(out, (".pdf", ".html", ".json"))
    with progress(f"Planning the tests of {name}") as report:
        proof = _proof(name, book, one_in)
        report(MADE)
        for path in out:
            _write(path, paper, lambda: to_builtins(proof.plan), lambda: plan_pages(proof.plan, proof.as_of))
    if as_json:
        write_json(to_builtins(proof.plan))
    else:
        click.echo("\n".join([plan_text(proof.plan), *(f"Wrote {path}." for path in out)]))


def _proof(name: str, book: str | None, one_in: int) -> "ProofDocument":
    from tapewright.proof.prove_machine import prove_machine

    with _opened(book) as there:
        return prove_machine(there, name, one_in=one_in)


@contextmanager
def _opened(where: str | None) -> "Iterator[Book]":
    from tapewright.book.record import open_book

    book = open_book(where, create=False)
    try:
        yield book
    finally:
        book.close()


def _pictures(book: "Book", proof: "ProofDocument") -> "RawPictures":
    from tapewright.proof.raw_pictures import raw_pictures

    return raw_pictures(book, proof)


def _endings(out: tuple[Path, ...], allowed: tuple[str, ...]) -> None:
    """Complain of a name before the work is done."""
    for path in out:
        if path.suffix.lower() not in allowed:
            raise WrongUseError(f"-o {path}: expected a name that ends in {', '.join(allowed)}.")


def _write(path: Path, paper: str, document: Callable[[], dict[str, object]], pages: "Callable[[], Pages]") -> None:
    """Write one file whole: nothing stands half-written under its name."""
    from tapewright.furniture.pages.pdf import file_bytes
    from tapewright.furniture.whole_file import write_whole

    write_whole(path, file_bytes(path.suffix.lower(), paper, document, pages))
