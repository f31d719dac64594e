"""What the database library complains of, in words for a person."""

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from tapewright.errors import InputError

NOTHING = "Nothing of this was written; all that was written before stands."

#: a server that goes away in the middle; whether its last word would have been "done" cannot be known from here
CUT_OFF = (
    "a server that stays until it has answered",
    "one that stopped, or a line to it that broke",
    "Start it again, and look at the last lines of the book: what was being written is there whole, or not at all. If "
    "it is not, do it again. All that was written before stands.",
)
#: words of the database -> (expected, found, what to do)
KNOWN: tuple[tuple[str, tuple[str, str, str]], ...] = (
    ("database or disk is full", ("room for what is to be written", "a full disk", f"Make room. {NOTHING}")),
    ("no space left", ("room for what is to be written", "a full disk", f"Make room. {NOTHING}")),
    ("could not extend file", ("room for what is to be written", "a full disk", f"Make room. {NOTHING}")),
    ("readonly database", ("a book that can be written", "one that can only be read", NOTHING)),
    ("read-only transaction", ("a book that can be written", "one that can only be read", NOTHING)),
    ("attempt to write", ("a book that can be written", "one that can only be read", NOTHING)),
    ("database is locked", ("a book that is free for a moment", "one that another program holds",
                            f"Close the other program and try again. {NOTHING}")),
    ("not a database", ("a book", "a file of another kind", "It was left as it is. Give another file with --book.")),
    ("malformed", ("a book that is whole", "a damaged one", "Leave it as it is, and restore the last backup.")),
    ("disk i/o error", ("a disk that works and has room", "a disk that refuses",
                        f"Make room; if there is room, look at the disk. {NOTHING}")),
    ("unable to open database file", ("a file that can be opened", "none, or a folder that cannot be written", "")),
    ("authentication failed", ("a name and password that the server takes", "ones it does not", "")),
    *((words, CUT_OFF) for words in (
        "terminating connection", "server closed the connection", "connection is lost", "connection is closed",
        "connection has been closed", "connection reset", "broken pipe", "no connection to the server", "shutting down",
        "recovery mode", "starting up", "crash of another server process",
    )),
    *((words, ("a server of that name", "none", "Is the name of the host right?")) for words in (
        "resolve host", "could not translate host name", "name or service not known",
    )),
    ("connection failed", ("a server that answers", "none, or one that refuses",
                           "Is it switched on, on this network, and is the address right?")),
    ("connection to server", ("a server that answers", "none, or one that refuses",
                            "Is it switched on, on this network, and is the address right?")),
    ("out of memory", ("memory enough", "too little", NOTHING)),
)  # fmt: skip


@contextmanager
def plainly(where: str) -> Iterator[None]:
    """Turn what the database library raises into one short paragraph.

    Raises:
        InputError: instead of any of the library's own.
    """
    try:
        yield
    except DBAPIError as problem:
        raise refusal(where, str(problem.orig)) from problem
    except SQLAlchemyError as problem:
        raise refusal(where, str(problem)) from problem


def refusal(where: str, words: str) -> InputError:
    """Say in a mechanic's words what a database complained of."""
    for sign, (expected, found, do) in KNOWN:
        if sign in words.lower():
            return InputError(where, expected=expected, found=found, do=do)
    return InputError(where, expected="a book that answers", found=" ".join(words.split()) or "no answer")
