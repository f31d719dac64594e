"""Wrong characters with bound and N, of the machine as it now is.

Captures of one sort add up; one raw file counts once, however often it was read. Line and tape are kept apart: they
may be two witnesses of the same characters.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from msgspec.structs import replace

from tapewright.book.entry import Entry
from tapewright.message import error_rate
from tapewright.proof.claims import shown_one_in
from tapewright.proof.document import ErrorCount, Soak
from tapewright.proof.lines import Evidence, of_kind
from tapewright.proof.plain import count, first_words, mapping, mappings, number

#: what a soak says that the program counted, not a person
COUNTED_BY = "line soak"


def error_counts(now: Sequence[Evidence], soaks: Sequence[Soak]) -> tuple[ErrorCount, ...]:
    """Count what line, tape and long runs show of the machine as it now is."""
    by_sort = [_counted(sort, [e for e in now if e.sort == sort]) for sort in ("line", "tape")]
    long_runs: list[tuple[int, int, int, Mapping[str, Any]]] = [(s.line, s.wrong, s.characters, {}) for s in soaks]
    return tuple(c for c in (*by_sort, _with_stated(_sum("soak", long_runs), soaks)) if c is not None)


def _with_stated(count_: ErrorCount | None, soaks: Sequence[Soak]) -> ErrorCount | None:
    return count_ and replace(count_, stated=sum(soak.characters for soak in soaks if soak.stated))


def _counted(sort: str, evidence: Sequence[Evidence]) -> ErrorCount | None:
    newest = {e.raw or (e.entry.key,): e for e in evidence}
    found = [(e.entry.number, *part) for e in newest.values() for part in compared_parts(e)]
    return _sum(sort, found)


def compared_parts(evidence: Evidence) -> Iterator[tuple[int, int, Mapping[str, Any]]]:
    """Return (wrong, n, kinds) for each part of a document that was compared with what was sent.

    n counts the characters sent and those that came unasked, as the bound does.
    """
    for part in (evidence.result, *mappings(evidence.result.get("strips"))):
        errors = mapping(part.get("errors"))
        sent, wrong = count(errors.get("sent")), count(errors.get("wrong"))
        if sent is None or wrong is None:
            continue
        kinds = mapping(errors.get("kinds"))
        n = sent + (count(kinds.get("extra")) or 0)
        if 0 <= wrong <= n and n:
            yield wrong, n, kinds


def _sum(sort: str, found: Sequence[tuple[int, int, int, Mapping[str, Any]]]) -> ErrorCount | None:
    if not found:
        return None
    wrong, n = sum(w for _, w, _, _ in found), sum(n for _, _, n, _ in found)
    upper = error_rate(wrong, n).upper_95
    kinds: Counter[str] = Counter()
    for _, _, _, of in found:
        kinds.update({kind: counted for kind, value in of.items() if (counted := count(value))})
    return ErrorCount(
        sort,
        wrong,
        n,
        upper,
        shown_one_in(upper),
        dict(kinds.most_common()),
        tuple(dict.fromkeys(line for line, _, _, _ in found)),
    )


def soaks_of(lines: Sequence[Entry]) -> tuple[Soak, ...]:
    """Return the long runs written after the last adjustment."""
    last_change = max((line.number for line in of_kind(lines, "adjustment")), default=0)
    return tuple(s for line in of_kind(lines, "soak") if line.number > last_change and (s := _soak(line)))


def _soak(line: Entry) -> Soak | None:
    body = line.new.body
    characters, wrong = count(body.get("characters")), count(body.get("wrong"))
    if characters is None or wrong is None or not characters or wrong > characters:
        return None
    supply = number(body.get("supply_percent"))
    said = (
        first_words(body, "state"),
        "" if supply is None else f"supply {supply:+g} % off nominal",
        first_words(body, "text"),
        first_words(body, "note"),
    )
    note = "; ".join(words for words in said if words)
    minutes = number(body.get("minutes"))
    stated = not line.new.files and body.get("counted_by") != COUNTED_BY
    return Soak(line.number, line.at, characters, wrong, minutes, note, supply, stated)
