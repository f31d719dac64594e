"""A diagnosis for the bench: first what to do now, then who is suspected and why, then the chain."""

import textwrap
from collections.abc import Iterable, Iterator

from tapewright.advisor.code_pairs import PairReading
from tapewright.advisor.find_the_fault import FaultReport
from tapewright.advisor.outcomes import AdvisedTest, CauseBelief
from tapewright.advisor.stations import percent
from tapewright.advisor.stop import Stop
from tapewright.alphabets import ITA2

WIDTH = 100
MOST_CAUSES, LEAST_PROBABILITY = 6, 0.02
DEPTH = {"none": "nothing to take off", "covers": "covers off", "assembly": "a unit off", "strip": "strip down"}
RISK = {"none": "no risk", "hand": "fingers and springs", "power": "under power", "loop": "mains or loop voltage near"}


def diagnosis_text(report: FaultReport) -> str:
    """Return the report."""
    found = report.diagnosis
    lines = [found.model.title[0].upper() + found.model.title[1:], ""]
    lines += _stop(found.stop) if found.stop else []
    lines += _next(found.next_tests, stopped=found.stop is not None)
    lines += _causes(found.causes, anything=bool(found.settled))
    lines += _pairs(report.pairs)
    if found.unexplained:
        lines += ["No cause in the list explains:"]
        lines += [f"  {found.model.findings[name].says}" for name, _ in found.unexplained] + [""]
    lines += _not_counted(report)
    lines += ["The chain:"]
    for station in found.stations:
        first = f": {station.because[0]}" if station.because and station.state != "not yet shown" else ""
        lines += wrapped(f"  {station.state:14s} {station.title}{first}", 17)
    lines += [line for note in found.notes for line in wrapped(f"Note: {note}.", 2)]
    return "\n".join(lines)


def _stop(stop: Stop) -> Iterator[str]:
    yield "Stop, you know enough. Do this:"
    for caution in stop.cause.cautions:
        yield from wrapped(f"  ! {caution}", 4)
    yield from wrapped(f"  {stop.cause.do}.", 2)
    yield from wrapped(f"  Why: {_low(stop.cause.says)} ({percent(stop.probability)}); {stop.why}. "
                       f"About {stop.cause.minutes:g} min, {DEPTH[stop.cause.depth]}.", 2)  # fmt: skip
    yield ""


def _next(tests: tuple[AdvisedTest, ...], *, stopped: bool) -> Iterator[str]:
    if not tests:
        if not stopped:
            yield from ("No test within your limits tells more. Allow more with --depth, --risk or --minutes.", "")
        return
    first = tests[0]
    yield "To be surer before you do:" if stopped else "Next:"
    for caution in first.cautions:
        yield from wrapped(f"  ! {caution}", 4)
    yield from wrapped(f"  {first.do}{'' if first.do.endswith('?') else '.'}", 2)
    yield f"  {first.minutes:g} min, {DEPTH[first.depth]}, {RISK[first.risk]}; {first.why}."
    for outcome in first.outcomes:
        lead = f"{_low(outcome.then_says)} {percent(outcome.then_probability)}" if outcome.then else "cannot happen"
        yield from wrapped(f"    {percent(outcome.chance):>10}  {outcome.says}  ->  {lead}", 16)
    if len(tests) > 1:
        said = set(first.cautions)
        for test in tests[1:3]:
            for caution in (c for c in test.cautions if c not in said):
                yield from wrapped(f"  ! {caution}", 4)
            said |= set(test.cautions)
            yield from wrapped(f"  Or: {_low(test.do)} ({test.minutes:g} min)", 6)
    yield ""


def _causes(causes: tuple[CauseBelief, ...], *, anything: bool) -> Iterator[str]:
    if not anything:
        yield from ("Nothing is known yet. Say what you see: tapewright diagnose --yes 'words' ...", "")
        return
    shown = [b for b in causes if b.supports and b.probability >= LEAST_PROBABILITY][:MOST_CAUSES]
    yield "Suspected:" if shown else "Nothing is suspected more than by chance."
    for belief in shown:
        yield from wrapped(f"  {percent(belief.probability):>10}  {belief.cause.says} [{belief.cause.name}]", 14)
        yield from _reasons("for", belief.supports)
        yield from _reasons("against", belief.against)
        yield from _reasons("not looked at", belief.missing[:3])
    yield ""


def _reasons(word: str, reasons: Iterable[str]) -> Iterator[str]:
    text = "; ".join(_low(reason) for reason in reasons)
    if text:
        yield from wrapped(f"              {word}: {text}", 16)


def _pairs(reading: PairReading | None) -> Iterator[str]:
    if reading is None or not reading.ranked:
        return
    yield "The characters, sent and received:"
    for each in reading.ranked:
        yield f"  {percent(each.probability):>10}  {each.suspect.name} (explains {each.explains} of {each.wrong})"
    if reading.decide:
        yield f"  Send {ITA2.letter(reading.decide)} ({reading.decide}) next; it would come as:"
        yield from (f"    {ITA2.letter(code)} ({code}) if {name}" for name, code in reading.then)
    yield ""


def _not_counted(report: FaultReport) -> Iterator[str]:
    """Tell what was found before an adjustment that may have mended or upset it: to be looked for again."""
    there = [n for n in report.not_counted if n.answer.state.endswith("present")]
    if not there:
        return
    yield "Found before an adjustment, not counted any more; look again:"
    for says in dict.fromkeys(report.diagnosis.model.findings[n.answer.finding].says for n in there):
        yield from wrapped(f"  {says}", 4)
    changes = list(dict.fromkeys(change for n in there for change in n.changes))
    yield from wrapped(f"  Overtaken by {'; '.join(changes[-3:])}.", 2)
    yield ""


def wrapped(text: str, indent: int) -> list[str]:
    """Break a line at the width of a page, later lines set in."""
    bare = text.lstrip()
    first = text[: len(text) - len(bare)]
    return textwrap.wrap(bare, WIDTH, initial_indent=first, subsequent_indent=" " * indent, break_on_hyphens=False)


def _low(text: str) -> str:
    return text if text[1:2].isupper() else text[0].lower() + text[1:]
