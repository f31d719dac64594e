"""A tape reading for people: what it says, what is wrong with it, what was measured."""

from collections.abc import Iterator
from textwrap import fill

from tapewright.furniture.pages.blocks import Section
from tapewright.furniture.report import as_text, facts, table
from tapewright.furniture.writing import verdicts_text
from tapewright.message.errors_text import errors_text
from tapewright.tape.document import JoinedTape, Strip, Tape
from tapewright.tape.measure import compare_codes
from tapewright.tape.settings import TapeSettings

WIDTH = 100
SHOWN = str.maketrans({"\r": "\N{SYMBOL FOR CARRIAGE RETURN}", "\n": "\N{SYMBOL FOR LINE FEED}"})
NOT_JUDGED = "Not judged"


def tape_text(tape: Tape, settings: TapeSettings) -> str:
    """Return the report, one string of lines."""
    return "\n".join(_lines(tape, settings))


def _lines(tape: Tape, settings: TapeSettings) -> Iterator[str]:
    source = tape.source
    yield f"{source.file}: {source.width_px} by {source.height_px} px, holes {tape.holes}."
    yield f"Scale {tape.scale.px_per_mm}, from: {tape.scale.from_}."
    yield from tape.suspicions
    each = len(tape.verdicts) // len(tape.strips)
    for number, strip in enumerate(tape.strips, start=1):
        yield ""
        yield from _strip(number, strip, len(tape.strips))
        compared = compare_codes(strip.codes, settings.expected)
        if compared is not None:
            yield errors_text(compared, settings.table)
        yield ""
        yield as_text(_figures(strip))
        yield ""
        yield from verdicts_text(tape.verdicts[(number - 1) * each : number * each])
    yield from (
        fill(note, WIDTH, subsequent_indent="  ") + "."
        for note in tape.scale.notes
        if note not in tape.suspicions
    )


def _strip(number: int, strip: Strip, strips: int) -> Iterator[str]:
    many = f"Strip {number} of {strips}" if strips > 1 else "One strip"
    face = "face down" if strip.mirrored else "face up"
    side = "right" if strip.turned else "left"
    yield f"{many}: {len(strip.codes)} rows, {face}, beginning at the {side}."
    yield f"  {strip.text.translate(SHOWN)}"
    if strip.other_reading is not None:
        yield "Read the other way it says:"
        yield f"  {strip.other_reading.text.translate(SHOWN)}"
    yield from strip.notes
    yield from (finding.text for finding in strip.findings)


def _figures(strip: Strip) -> Iterator[Section]:
    yield Section("Feed", (facts(strip.feed),))
    guide = facts(strip.guide)
    if guide.pairs:
        yield Section("Guide", (guide,))
    else:
        yield Section(f"Guide not measured: {'; '.join(strip.guide.notes)}.", ())
    yield Section("Tracks", (table(strip.tracks),))


def joined_text(joined: JoinedTape) -> str:
    """Return the report on several pictures of one tape."""
    strips = f"{len(joined.pieces)} strips in {len(joined.pictures)} pictures"
    lines = [f"One tape of {len(joined.codes)} rows from {strips}."]
    lines += [f"  {joined.text.translate(SHOWN)}", *joined.notes]
    for piece in joined.pieces:
        strip, source = joined.pictures[piece.picture].strips[piece.strip], joined.pictures[piece.picture].source
        shared = "begins" if piece.shared_rows is None else f"shares {piece.shared_rows} rows with the one before"
        lines.append(f"  from row {piece.first_row}: {source.file}, {len(strip.rows)} rows, {shared}")
        lines += [f"    {each}" for each in (*strip.notes, *(finding.text for finding in strip.findings))]
    lines += [f"Not read: {each.why}" for each in joined.unread]
    return "\n".join(lines)
