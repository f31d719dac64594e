"""`--book`: which book a command reads or writes."""

from collections.abc import Callable
from typing import Any, TypeVar

import click

_Command = TypeVar("_Command", bound=Callable[..., Any])

#: Stands in for `--book` where it is not given.
VARIABLE = "TAPEWRIGHT_BOOK"


def book_option(command: _Command) -> _Command:
    """Add `--book` to a click command; it comes as `book`, None for the user's own."""
    option = click.option(
        "--book", metavar="FILE|URL", envvar=VARIABLE,
        help=f"The book: a file, or postgresql://... [default: {VARIABLE}, else one in your data folder]",
    )  # fmt: skip
    return option(command)
