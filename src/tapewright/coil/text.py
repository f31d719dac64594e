"""What a recorded coil current says, in words."""

from collections.abc import Iterator, Sequence

from tapewright.coil.cautions import GENERAL, READ_CAUTIONS
from tapewright.coil.compare import Change
from tapewright.coil.document import ClosingReport, Signature
from tapewright.coil.drive.text import wrapped
from tapewright.coil.read import CoilReading
from tapewright.number import Reading

SHOWN_CLOSINGS = 12
ANSWERS = {
    True: "The armature moved.",
    False: "The armature did not move.",
    None: "Cannot tell whether the armature moved.",
}


def coil_text(reading: CoilReading, compared: Sequence[Change] | None, other: CoilReading | None) -> str:
    """Return the report."""
    lines = [wrapped("- " + caution, "", "  ") for caution in (*READ_CAUTIONS, GENERAL)]
    lines += ["", *_one(reading)]
    if compared is not None and other is not None:
        lines += ["", *_one(other), "", f"Against {other.path.name}", *_compared(compared)]
    return "\n".join(lines)


def _one(reading: CoilReading) -> Iterator[str]:
    s, p = reading.signature, reading.signature.prepared
    upside = ", recorded upside down" if p.inverted else ""
    yield f"{reading.path.name}: {len(p.closings)} closings at {p.rate_hz:g} samples a second{upside}"
    yield f"  {ANSWERS[s.moved]}"
    for note in s.notes:
        yield wrapped(note, "  ", "  ")
    if p.doubts:
        return
    yield f"  Resistance       {_shown(s.resistance_ohm)}"
    yield f"  Inductance       {_shown(s.inductance_h)}{' with the armature out' if s.moved else ''}"
    if s.inductance_landed_h.value is not None:
        yield f"                   {_shown(s.inductance_landed_h)} with it on the pole"
    yield f"  Time constant    {_shown(s.tau_ms)} of the loop"
    if s.landing.value is not None:
        yield f"  Lands after      {_shown(s.landing)}, single landings scatter by {_shown(s.scatter)}"
    if s.moved is not False:
        yield f"  Back after       {_shown(s.release)}"
    yield from _closings(s)


def _shown(reading: Reading) -> str:
    return str(reading) if reading.value is not None else f"not shown ({reading.how})"


def _closings(s: Signature) -> Iterator[str]:
    yield "  closing at   moved         lands after         remarks"
    for report in s.closings[:SHOWN_CLOSINGS]:
        moved, landing = _moved(report.read.moved), _landing(report)
        yield f"  {report.read.on_s:9.4f} s  {moved:<12}  {landing:<18}  {_remarks(report)}".rstrip()
    if len(s.closings) > SHOWN_CLOSINGS:
        yield f"  ... and {len(s.closings) - SHOWN_CLOSINGS} more"


def _moved(moved: bool | None) -> str:
    return {True: "yes", False: "no", None: "cannot tell"}[moved]


def _landing(report: ClosingReport) -> str:
    if report.read.landing.value is None:
        return "cannot tell when" if report.read.moved else "-"
    return str(report.read.landing)


def _remarks(report: ClosingReport) -> str:
    read, said = report.read, []
    if report.slow:
        said.append("slower than the others")
    if read.bounce.value is not None:
        said.append(f"bounces for {read.bounce}")
    if read.extra_kinks_s:
        said.append("further dip at " + ", ".join(f"{time * 1e3:.2f}" for time in read.extra_kinks_s) + " ms")
    if read.moved is None:
        said.append(read.why)
    return "; ".join(said)


def _compared(compared: Sequence[Change]) -> Iterator[str]:
    for change in compared:
        verdict = "" if change.change.value is None else " (shown)" if change.shown else " (within the doubt)"
        yield f"  {change.name:<24} {_shown(change.change)}{verdict}"
