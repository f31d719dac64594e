"""A line result in words, for a person at the bench: the answer first, then what it rests on."""

import textwrap

from tapewright.furniture.pages.blocks import Section
from tapewright.furniture.report import as_text, facts, table
from tapewright.furniture.writing import verdicts_text
from tapewright.line.document import LineResult
from tapewright.line.read import LineReport
from tapewright.message.errors_text import errors_text
from tapewright.number import Reading
from tapewright.recordings.capture import BEFORE_A_WIRE

WIDTH = 100
#: shorter heads of columns
HEADS = {"bounce_ms.median": "bounce", "bounce_ms.max": "longest", "splits.n": "splits", "splits.median_ms": "gap"}


def line_text(report: LineReport) -> str:
    """Return the whole report."""
    result = report.result
    parts = [_source(report), *_suspicions(result)]
    if result.trace is None:
        parts += _notes(result)
        return "\n".join(parts)
    parts += [
        "",
        "What to set, first things first" if result.speed.proven else "What is needed first",
        *_findings(result),
    ]
    parts += ["", "Speed", *_speed(result)]
    parts += ["", f"Text ({len(result.codes)} characters, {result.settings.alphabet.name})", *_text(result)]
    parts += _errors(result)
    distortion = Section("Distortion (of a unit; late +, early -)", (facts(result.distortion),))
    contacts = Section("Each contact (its own lateness: late +, early -)", (table(result.contacts, heads=HEADS),))
    parts += ["", as_text((distortion, contacts))]
    parts += _receiver(result)
    parts += ["", "Verdicts", *verdicts_text(result.verdicts)]
    parts += _notes(result)
    return "\n".join(parts)


def _source(report: LineReport) -> str:
    recording = report.recording
    rate = f", {recording.rate_hz:,.0f} samples a second" if recording.rate_hz else ""
    channel = f", channel {recording.channel}" if len(recording.channels) > 1 else ""
    others = f" (characters also on {', '.join(report.other_channels)})" if report.other_channels else ""
    seconds = recording.edges.end_s - recording.edges.begin_s
    idle = f", idle {report.result.idle}" if report.result.idle else ""
    return f"{report.file}: {recording.kind}{channel}{others}, {seconds:.2f} s{rate}{idle}"


def _suspicions(result: LineResult) -> list[str]:
    if not result.suspicions:
        return []
    out = ["", "Look at the recorder first", *_wrapped(f"  ! {BEFORE_A_WIRE}", "    ")]
    for s in result.suspicions:
        out += _wrapped(f"  {s.suspicion}: {s.evidence}.", "    ") + _wrapped(f"    {s.do}", "    ")
    return out


def _findings(result: LineResult) -> list[str]:
    if not result.findings:
        return ["  Nothing that could be set stands clear of its doubt. The verdicts say what is within its limits."]
    out = []
    for n, finding in enumerate(result.findings, start=1):
        out += _wrapped(f"  {n}. {finding.part}: {finding.what}.", "     ")
        out += _wrapped(f"     {finding.do}", "     ")
    return out


def _speed(result: LineResult) -> list[str]:
    speed = result.speed
    out = [f"  unit       {speed.unit_ms}, {speed.baud}"]
    if speed.nominal_baud is not None:
        how = "given" if speed.nominal_given else "nearest usual speed"
        out.append(f"  against    {speed.nominal_baud:.5g} Bd ({how}): {_percent(speed.error_percent)}")
    if speed.character_ms.value is not None:
        pace = f"{speed.characters_per_minute.value:.1f} characters, {speed.words_per_minute.value:.2f} words a minute"
        out.append(f"  character  {speed.character_ms}, stop {_units(speed.stop_units)}; {pace}")
    if speed.ripple_percent.value is not None and speed.ripple_hz.value is not None:
        out.append(f"  ripple     {_percent(speed.ripple_percent)} at {speed.ripple_hz.value:.2f} Hz")
    if speed.drift_percent.value is not None:
        out.append(f"  drift      {_percent(speed.drift_percent)} from begin to end")
    out.append("  proven     " + ("yes" if speed.proven and not speed.why else f"no: {speed.why}"))
    return out


def _text(result: LineResult) -> list[str]:
    lines = result.text.replace("\r\n", "\n").replace("\r", "\N{SYMBOL FOR CARRIAGE RETURN}\n").split("\n")
    return [f"  {line[at : at + WIDTH - 4]}" for line in lines for at in range(0, max(len(line), 1), WIDTH - 4)]


def _errors(result: LineResult) -> list[str]:
    if result.errors is None:
        return []
    said = errors_text(result.errors, result.settings.alphabet).splitlines()
    return ["", "Against what was sent", *(row for line in said for row in _wrapped(f"  {line}", "    "))]


def _receiver(result: LineResult) -> list[str]:
    receiver = result.receiver
    if receiver is None:
        return []
    out = ["", f"A receiver with a window of {100 * receiver.window:.0f} % of a unit"]
    low, high = receiver.orientation_low, receiver.orientation_high
    if high < low:
        out.append("  reads this signal at no orientation without a wrong character")
    else:
        window = f"{low:+z.1f} to {high:+z.1f} % about the middle"
        out.append(f"  reads it from {window}: margin {receiver.margin_percent:.1f} %")
    early = max(receiver.per_element, key=lambda r: r.orientation_low).element
    late = min(receiver.per_element, key=lambda r: r.orientation_high).element
    out.append(f"  element {early} sets the early end, element {late} the late end")
    added = [f"{r.percent:.0f} % {r.kind} {r.margin_percent:.1f} %" for r in receiver.with_added if r.percent == 20]
    out.append("  margin left with more on top: " + ", ".join(added))
    return out


def _notes(result: LineResult) -> list[str]:
    if not result.notes:
        return []
    return ["", "To bear in mind", *(line for note in result.notes for line in _wrapped(f"  - {note}", "    "))]


def _percent(reading: Reading) -> str:
    return str(reading).replace(" percent", " %")


def _units(reading: Reading) -> str:
    return str(reading).replace(" unit", " units")


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=indent, replace_whitespace=False, drop_whitespace=True) or [""]
