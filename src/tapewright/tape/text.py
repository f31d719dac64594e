"""A tape reading for people: what it says, what is wrong with it, what was measured."""

from collections.abc import Iterator
from textwrap import fill

from tapewright.alphabets import Alphabet
from tapewright.furniture.writing import verdicts_text
from tapewright.message.errors_text import errors_text
from tapewright.number import Reading
from tapewright.tape.document import Guide, StripReading, TapeReading
from tapewright.tape.read import TapeReport

WIDTH = 100
SHOWN = str.maketrans({"\r": "\N{SYMBOL FOR CARRIAGE RETURN}", "\n": "\N{SYMBOL FOR LINE FEED}"})


def tape_text(report: TapeReport, alphabet: Alphabet) -> str:
    """Return the report, one string of lines."""
    return "\n".join(_lines(report, alphabet))


def _lines(report: TapeReport, alphabet: Alphabet) -> Iterator[str]:
    reading = report.reading
    kind = "lighter" if reading.light_holes else "darker"
    yield f"{report.file}: {reading.width_px} by {reading.height_px} px, holes {kind} than the paper."
    yield f"Scale {reading.scale.px_per_mm}, from: {reading.scale.source}."
    yield from reading.suspicions
    each = len(reading.verdicts) // len(reading.strips)
    for number, strip in enumerate(reading.strips, start=1):
        yield ""
        yield from _strip(number, strip, reading)
        if strip.comparison is not None:
            yield errors_text(strip.comparison, alphabet)
        yield from verdicts_text(reading.verdicts[(number - 1) * each : number * each])
    yield from (fill(said, WIDTH, subsequent_indent="  ") + "." for said in reading.not_judged)


def _strip(number: int, strip: StripReading, reading: TapeReading) -> Iterator[str]:
    many = f"Strip {number} of {len(reading.strips)}" if len(reading.strips) > 1 else "One strip"
    face = "face down" if strip.mirrored else "face up"
    side = "right" if strip.turned else "left"
    yield f"{many}: {len(strip.codes)} rows, {face}, beginning at the {side}."
    yield f"  {strip.text.translate(SHOWN)}"
    if strip.other_text is not None:
        yield "Read the other way it says:"
        yield f"  {strip.other_text.translate(SHOWN)}"
    yield from strip.notes
    yield from (finding.text for finding in strip.findings)
    feed = strip.feed
    worst = feed.worst_cumulative_mm
    farthest = f"worst place {worst} off." if worst.value is not None else f"worst place not shown: {worst.how}."
    yield f"Pitch {feed.pitch_mm}; single steps scatter by {feed.scatter_mm}; {farthest}"
    yield f"Feed holes {feed.diameter_mm}; track 5 behind track 1 by {feed.square_mm}."
    yield from _guide(strip.guide)
    yield "Track  holes  partial  diameter           along              across"
    for track in strip.tracks:
        cells = (_cell(r) for r in (track.diameter_mm, track.along_mm, track.across_mm))
        counts = f"{track.track:>5}  {track.punched:>5}  {track.partial:>7}  "
        yield counts + "".join(f"{c:<19}" for c in cells).rstrip()


def _guide(guide: Guide) -> Iterator[str]:
    if guide.off_mm.value is None:
        yield f"Guide not measured: {guide.off_mm.how}."
        return
    way = "towards track 5" if guide.off_mm.value > 0 else "towards track 1"
    width = "" if guide.width_mm.value is None else f"Tape {guide.width_mm} wide; "
    yield f"{width}feed line {guide.edge_mm} from the three-hole edge, {abs(guide.off_mm.value):.2f} mm {way}."


def _cell(reading: Reading) -> str:
    return "-" if reading.value is None else str(reading).removesuffix(" mm")
