"""Fingerprints of everything the proof rests on, and how another person works it all out again.

The fingerprint of a line of the book is the SHA-256 (FIPS 180-4) of its JSON with sorted keys and no spaces, in UTF-8;
see book/entry.py.
"""

from collections.abc import Sequence

from tapewright.book.entry import Entry
from tapewright.proof.document import Trail, UsedFile, UsedLine
from tapewright.proof.plain import first_words, mappings
from tapewright.proof.plan import quoted

HOW = (
    "Take the bundle or the book from whom you had this proof. Each raw file has the fingerprint (SHA-256) printed "
    "below: any tool that works out SHA-256 must give the same 64 digits, or the file was changed.",
    "The fingerprint of a line of the book is the SHA-256 of its JSON with keys sorted, no spaces, in UTF-8, with "
    "machine, kind, body, by, files, rests_on, replaces, at and program; where they are there, with reason and chain.",
    "Recompute the results from the raw files and judge them anew, then write the proof again: the same book gives "
    "the same bytes.",
)


def trail_of(lines: Sequence[Entry], name: str) -> Trail:
    """Return every line that was read, with its raw files."""
    used = tuple(UsedLine(e.number, e.key, e.new.kind, e.at, e.program, _files(e)) for e in lines)
    typed = quoted(name)
    commands = (
        "tapewright book check",
        f"tapewright book recompute --machine {typed} --dry-run",
        f"tapewright machine prove {typed} -o proof.pdf",
    )
    return Trail(used, HOW, commands)


def _files(entry: Entry) -> tuple[UsedFile, ...]:
    named = {
        first_words(s, "sha256"): first_words(s, "name").replace("\\", "/").rpartition("/")[2]
        for s in mappings(entry.new.body.get("sources"))
    }
    return tuple(UsedFile(named.get(sha256) or None, sha256) for sha256 in entry.new.files)
