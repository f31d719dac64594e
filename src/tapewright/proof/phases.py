"""Which evidence speaks for the machine as found, and which for it as left.

Picture (time to the right, A = an adjustment):

    as found   between   A   between   A   as left   as left
    ^ the first marked so                            ^ the last marked so; for counts all of them after the last A

Where nothing is marked, the first and the last on record are taken, and the proof says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.book.entry import Entry
from tapewright.proof.lines import AS_FOUND, AS_LEFT, Evidence, of_kind


@dataclass(frozen=True, slots=True)
class Chosen:
    """The evidence that speaks for one phase of one sort.

    Attributes:
        evidence: None when there is none.
        said: what a reader must know about the choice; empty when it is as marked.
    """

    evidence: Evidence | None
    said: str


def as_found(evidence: Sequence[Evidence], sort: str) -> Chosen:
    """Return the first evidence of a sort marked "as found"; else the first on record, if anything came after it."""
    of_sort = [e for e in evidence if e.sort == sort and e.readable]
    marked = [e for e in of_sort if e.phase == AS_FOUND]
    if marked:
        return Chosen(marked[0], "")
    unmarked = [e for e in of_sort if e.phase != AS_LEFT]
    if not unmarked:
        return Chosen(None, f"no {sort} evidence shows the machine as found")
    return Chosen(unmarked[0], f"no {sort} evidence is marked as found: the first on record stands for it")


def as_left(evidence: Sequence[Evidence], lines: Sequence[Entry], sort: str) -> Chosen:
    """Return the last evidence of a sort marked "as left"; else the last on record that is not "as found"."""
    of_sort = [e for e in evidence if e.sort == sort and e.readable]
    marked = [e for e in of_sort if e.phase == AS_LEFT]
    chosen = marked or [e for e in of_sort if e.phase != AS_FOUND]
    if not chosen:
        return Chosen(None, f"no {sort} evidence shows the machine as left")
    last = chosen[-1]
    said = "" if marked else f"no {sort} evidence is marked as left: the last on record stands for it"
    changed = changes_after(lines, last.entry)
    if changed:
        places = ", ".join(str(line.number) for line in changed[:5])
        said = "; ".join(w for w in (said, f"the machine was changed after it (line {places} of the book)") if w)
    return Chosen(last, said)


def changes_after(lines: Sequence[Entry], line: Entry) -> tuple[Entry, ...]:
    """Return the adjustments written after a line."""
    return tuple(change for change in of_kind(lines, "adjustment") if change.number > line.number)


def speaks_for_now(evidence: Sequence[Evidence], lines: Sequence[Entry]) -> tuple[Evidence, ...]:
    """Return all evidence of the machine as it now is: not as found, marked as left or after the last adjustment.

    Evidence from before a change says nothing about the machine after it, so none of it is counted.
    """
    last_change = max((line.number for line in of_kind(lines, "adjustment")), default=0)
    after = [e for e in evidence if e.readable and e.entry.number > last_change and e.phase != AS_FOUND]
    marked = [e for e in after if e.phase == AS_LEFT]
    return tuple(marked or after)
