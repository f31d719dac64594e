"""What line and tape of one event prove together, for people and as the JSON document "tapewright/compare/1"."""

from collections.abc import Iterator, Sequence
from typing import Any

from tapewright.alphabets import Alphabet
from tapewright.witnesses.two_witnesses import Beyond, Side, TwoWitnesses

PROVES = {
    Side.PUNCH: "right on the line, wrong on the tape: keys, code bars and contacts chose right; look at interposers, "
                "pins, die and feed",
    Side.CONTACTS: "wrong on the line, right on the tape: keys and code bars chose right; look at contacts, loop and "
                   "recording",
    Side.BEFORE: "wrong alike on line and tape: look at keys and code bars, before line and punch part",
    Side.BOTH: "wrong on both, and not alike: two faults, or one before line and punch part",
    Side.EITHER: "not the same on line and tape; without the sent text (--expect) it is not shown which is wrong",
    Side.ALONE: "wrong on one, and the other has nothing there: it is not shown on which side of the parting",
}  # fmt: skip
#: Where a witness has nothing, and what that may mean.
BEYOND = {
    "beginning": "The {witness} begins {n} later than {whole}: it was begun late, or they were lost there. They are "
                 "not compared.",
    "end": "The {witness} ends {n} before {whole}: it was ended early, or they were lost there. They are not compared.",
}  # fmt: skip
MOST_PLACES = 12
#: Share of differing characters from which the cause is sooner the pairing or the polarity than a part.
MANY = 1 / 3
TOO_MANY = (
    "More than a third differs: no single pin or contact does that. See first whether both are of the same event, and "
    "whether one is inverted or reads backwards (`line read` and `tape read` with --expect say so)."
)


def compare_text(found: TwoWitnesses, alphabet: Alphabet, tape_findings: Sequence[str]) -> str:
    """Return the report."""
    return "\n".join(_lines(found, alphabet, tape_findings))


def _lines(found: TwoWitnesses, alphabet: Alphabet, tape_findings: Sequence[str]) -> Iterator[str]:
    count = f"{found.compared} character{'s' * (found.compared != 1)}"
    if len(found.places) > MANY * found.compared:
        yield TOO_MANY
    if not found.places and any(found.extras):
        yield f"All {count} sent came right on line and tape; but not only they came."
    elif not found.compared:
        yield "Line and tape share no stretch of the text: nothing could be compared."
    elif not found.places:
        yield f"Line and tape agree in all {count}{' and with the text sent' if found.with_sent else ''}."
    for side, n in sorted(found.sides.items(), key=lambda item: -item[1]):
        yield f"{n} of {count}: {PROVES[side]}."
    yield from (beyond_text(beyond, with_sent=found.with_sent) for beyond in found.beyond)
    for place in found.places[:MOST_PLACES]:
        sent = f"sent {_name(place.sent, alphabet)}, " if found.with_sent else ""
        yield f"  {place.number}: {sent}line {_name(place.line, alphabet)}, tape {_name(place.tape, alphabet)}"
    if len(found.places) > MOST_PLACES:
        yield f"  and {len(found.places) - MOST_PLACES} more"
    for where, n in zip(("line", "tape"), found.extras, strict=True):
        if n:
            yield f"{n} more on the {where} that nobody sent."
    if tape_findings:
        yield "The tape itself shows:"
        yield from (f"  {text}" for text in tape_findings)


def beyond_text(beyond: Beyond, *, with_sent: bool) -> str:
    """Say what a witness does not have at an end."""
    whole = "the text sent" if with_sent else ("the tape" if beyond.witness == "line" else "the line")
    n = f"{beyond.characters} characters"
    return BEYOND[beyond.end].format(witness=beyond.witness, n=n, whole=whole)


def _name(code: str | None, alphabet: Alphabet) -> str:
    return "nothing" if code is None else f"{alphabet.letter(code)} ({code})"


def compare_document(
    found: TwoWitnesses, line_file: str, tape_file: str, tape_findings: Sequence[str]
) -> dict[str, Any]:
    """Return the document."""
    return {
        "format": "tapewright/compare/1",
        "line": line_file,
        "tape": tape_file,
        "compared": found.compared,
        "with_sent": found.with_sent,
        "sides": {side.value: found.sides.get(side, 0) for side in Side},
        "proves": [PROVES[side] for side in found.sides],
        "places": [
            {"number": p.number, "sent": p.sent, "line": p.line, "tape": p.tape, "side": p.side.value}
            for p in found.places
        ],
        "extras": {"line": found.extras[0], "tape": found.extras[1]},
        "beyond": [
            {"witness": b.witness, "end": b.end, "characters": b.characters} for b in found.beyond
        ],
        "tape_findings": list(tape_findings),
    }
