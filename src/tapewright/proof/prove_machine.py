"""Prove a machine: from its lines in the book to the hand-over document, the test plan, and what is still missing."""

from collections.abc import Mapping
from dataclasses import dataclass

from tapewright.alphabets import ALPHABETS
from tapewright.book.entry import Entry
from tapewright.book.keys import known_benches
from tapewright.book.ports import Book
from tapewright.errors import InputError
from tapewright.message.test_texts import PATTERNS
from tapewright.proof.claims import WANTED_ONE_IN
from tapewright.proof.document import Gap, OpenPoint, Plan, ProofDocument
from tapewright.proof.prove import prove


@dataclass(frozen=True, slots=True)
class StillMissing:
    """What stands between a machine and a fuller proof: for the bench page.

    Attributes:
        not_tested: what was not tested.
        open_points: what is open.
        plan: the test plan, with what of it is done.
    """

    not_tested: tuple[Gap, ...]
    open_points: tuple[OpenPoint, ...]
    plan: Plan


def prove_machine(book: Book, name: str, *, one_in: int = WANTED_ONE_IN) -> ProofDocument:
    """Make the proof of a machine from everything the book holds of it.

    Args:
        book: where it is written.
        name: name or key of the machine.
        one_in: the claim the plan aims at: fewer than 1 wrong character in so many.

    Raises:
        InputError: when there is no such machine.
    """
    machine = book.machine(name)
    return prove_entries(machine.name, machine.key, book.entries(machine.key), one_in=one_in)


def prove_entries(name: str, key: str, entries: tuple[Entry, ...], *, one_in: int = WANTED_ONE_IN) -> ProofDocument:
    """Make the proof from lines of a book, in any order.

    Raises:
        InputError: when there is not a single line.
    """
    if not entries:
        raise InputError(
            f"the record of {name}",
            expected="at least one line to prove it by",
            found="none",
            do="Write down what was measured first.",
        )
    return prove(name, key, entries, pattern_lengths(), one_in, known_benches())


def still_missing(book: Book, name: str, *, one_in: int = WANTED_ONE_IN) -> StillMissing:
    """Say what a machine's proof still lacks, without setting it.

    Raises:
        InputError: when there is no such machine.
    """
    made = prove_machine(book, name, one_in=one_in)
    return StillMissing(made.not_tested, made.open_points, made.plan)


def pattern_lengths() -> Mapping[str, Mapping[str, int]]:
    """Return for each alphabet how many characters each test pattern has once through."""
    return {
        key: {pattern: len(make(alphabet)) for pattern, (make, _, _) in PATTERNS.items()}
        for key, alphabet in ALPHABETS.items()
    }
