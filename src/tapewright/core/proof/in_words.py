"""What the book holds in words: adjustments, observations, records, electrical checks, cautions."""

from collections.abc import Sequence

from tapewright.core.book.entry import Entry
from tapewright.core.proof.document import Caution, DeadCheck, Said, Work
from tapewright.core.proof.lines import Evidence, of_kind
from tapewright.core.proof.plain import first_words, words

#: which of a record -> how the proof heads it
RECORDS = {"start": "what we knew at the start", "end": "what we know at the end"}
NOT_SAID = "not said what"


def work_of(lines: Sequence[Entry]) -> tuple[Work, ...]:
    """Give the adjustments, oldest first."""
    return tuple(_work(line) for line in of_kind(lines, "adjustment"))


def _work(line: Entry) -> Work:
    body, unit = line.new.body, words(line.new.body.get("unit"))
    before, after = (f"{said} {unit}".strip() if (said := words(body.get(k))) else "" for k in ("before", "after"))
    what = first_words(body, "what") or NOT_SAID
    return Work(what, before, after, words(body.get("why")), line.new.by, line.at, line.number)


def observations_of(evidence: Sequence[Evidence]) -> tuple[Said, ...]:
    """Give what was observed, with the phase it belongs to."""
    seen = [(e, first_words(e.body, "says", "note")) for e in evidence if e.sort == "observation"]
    return tuple(Said(e.phase or "phase not said", text, e.entry.new.by, e.entry.at, e.entry.number)
                 for e, text in seen if text)  # fmt: skip


def records_of(lines: Sequence[Entry]) -> tuple[Said, ...]:
    """Give the start and end records."""
    said = [(RECORDS.get(words(line.new.body.get("which")), "record"), words(line.new.body.get("text")), line)
            for line in of_kind(lines, "record")]  # fmt: skip
    return tuple(Said(head, text, line.new.by, line.at, line.number) for head, text, line in said if text)


def dead_checks_of(lines: Sequence[Entry]) -> tuple[DeadCheck, ...]:
    """Give the electrical checks of the dead machine, as they were written."""
    return tuple(_dead_check(line) for line in of_kind(lines, "electrical check"))


def _dead_check(line: Entry) -> DeadCheck:
    body = line.new.body
    at_volts = words(body.get("at_volts"))
    reading = f"{words(body.get('reading'))} {words(body.get('unit'))}".strip()
    return DeadCheck(
        words(body.get("between")) or NOT_SAID, reading + (f" at {at_volts} V" if at_volts else ""),
        first_words(body, "limit"), words(body.get("verdict")), first_words(body, "instrument"),
        line.new.by, line.at, line.number,
    )  # fmt: skip


def cautions_of(lines: Sequence[Entry]) -> tuple[Caution, ...]:
    """Give the cautions that were read and taken on."""
    said = [(words(line.new.body.get("caution")), line) for line in of_kind(lines, "caution")
            if line.new.body.get("acknowledged") is not False]  # fmt: skip
    return tuple(Caution(text, line.new.by, line.at) for text, line in said if text)
