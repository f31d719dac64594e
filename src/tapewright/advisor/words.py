"""A diagnosis for the bench: first what to do now, then who is suspected and why, then the chain."""

import re
import textwrap
from collections.abc import Iterable, Iterator

from tapewright.advisor.document import Danger, Diagnosis, Known, NextTest, NotCounted, Pairs, Stop, Suspected
from tapewright.advisor.explain import percent
from tapewright.alphabets import ITA2

WIDTH = 100
MOST_CAUSES, LEAST_PROBABILITY = 6, 0.02
#: Belief from which a remedy is told as what is known, not as what is worth trying.
SURE_FROM = 0.9
#: How an answer says what was written.
WROTE = re.compile(r"you wrote '([^']*)'")
DEPTH = {"none": "nothing to take off", "covers": "covers off", "assembly": "a unit off", "strip": "strip down"}
RISK = {"none": "no risk", "hand": "fingers and springs", "power": "under power", "loop": "mains or loop voltage near"}

#: least risk that a danger forbids -> what is not advised
FORBIDS = {
    "none": "at the machine",
    "hand": "with a hand in the machine",
    "power": "under power",
    "loop": "near mains or loop voltage",
}


def diagnosis_text(found: Diagnosis) -> str:
    """Return the report."""
    lines = [*_danger(found.danger), found.machine.title[0].upper() + found.machine.title[1:], ""]
    lines += _taken(found.evidence)
    lines += _stop(found.stop, found.causes) if found.stop else []
    lines += _next(found.next_tests, stopped=found.stop is not None)
    lines += _causes(found.causes, anything=bool(found.evidence))
    lines += _pairs(found.pairs)
    if found.unexplained:
        lines += ["No cause in the list explains:", *(f"  {each.says}" for each in found.unexplained), ""]
    lines += _not_counted(found.not_counted)
    lines += ["The chain:"]
    for station in found.stations:
        first = f": {station.because[0]}" if station.because and station.state != "not yet shown" else ""
        lines += wrapped(f"  {station.state:14s} {station.title}{first}", 17)
    lines += [line for note in found.notes for line in wrapped(f"Note: {note}.", 2)]
    return "\n".join(lines)


def _danger(dangers: Iterable[Danger]) -> Iterator[str]:
    """Tell what can hurt somebody, and what to do at once."""
    for danger in dangers:
        yield from wrapped(f"DANGER: {_low(danger.says)} ({_low('; '.join(danger.because))})", 8)
        for number, step in enumerate(danger.do, start=1):
            yield from wrapped(f"  {number}. {step}", 5)
        yield f"  While this stands nothing is advised that is done {FORBIDS[danger.forbids]}."
        yield ""


def _taken(evidence: Iterable[Known]) -> Iterator[str]:
    """Tell how free words were taken, so that a wrong reading is seen at once."""
    told = [(each, words) for each in evidence if (words := WROTE.match(each.how)) and words[1] != each.finding]
    for each, words in told:
        so = {"present": "", "rather present": ", rather so", "not examined": ", cannot be said"}.get(
            each.state, ": not so"
        )
        yield from wrapped(f"You wrote {words[1]!r}. Taken as: {_low(each.says)}{so}.", 2)
    yield from [""] if told else []


def _stop(stop: Stop, causes: Iterable[Suspected]) -> Iterator[str]:
    depth = next(each.remedy.depth for each in causes if each.cause == stop.cause)
    yield "Stop, you know enough. Do this:" if stop.probability >= SURE_FROM else "Not certain, but do this now:"
    for caution in stop.cautions:
        yield from wrapped(f"  ! {caution}", 4)
    yield from wrapped(f"  {stop.do}.", 2)
    why = f"{_low(stop.says)} ({percent(stop.probability)}); {stop.why}"
    yield from wrapped(f"  Why: {why}. About {stop.minutes:g} min, {DEPTH[depth]}.", 2)
    yield ""


def _next(tests: tuple[NextTest, ...], *, stopped: bool) -> Iterator[str]:
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
        lead = f"{_low(outcome.then.says)} {percent(outcome.then.probability)}" if outcome.then else "cannot happen"
        yield from wrapped(f"    {percent(outcome.chance):>10}  {outcome.says}  ->  {lead}", 16)
    if len(tests) > 1:
        said = set(first.cautions)
        for test in tests[1:3]:
            for caution in (c for c in test.cautions if c not in said):
                yield from wrapped(f"  ! {caution}", 4)
            said |= set(test.cautions)
            yield from wrapped(f"  Or: {_low(test.do)} ({test.minutes:g} min)", 6)
    yield ""


def _causes(causes: tuple[Suspected, ...], *, anything: bool) -> Iterator[str]:
    if not anything:
        yield from ("Nothing is known yet. Say what you see: tapewright diagnose --yes 'words' ...", "")
        return
    shown = [b for b in causes if b.supports and b.probability >= LEAST_PROBABILITY][:MOST_CAUSES]
    yield "Suspected:" if shown else "Nothing is suspected more than by chance."
    for belief in shown:
        yield from wrapped(f"  {percent(belief.probability):>10}  {belief.says}{_place(belief)} [{belief.cause}]", 14)
        yield from _reasons("for", belief.supports)
        yield from _reasons("against", belief.against)
        yield from _reasons("not looked at", belief.missing[:3])
    yield ""


def _place(belief: Suspected) -> str:
    return f", {belief.at}" if belief.at and belief.at not in belief.says else ""


def _reasons(word: str, reasons: Iterable[str]) -> Iterator[str]:
    text = "; ".join(_low(reason) for reason in reasons)
    if text:
        yield from wrapped(f"              {word}: {text}", 16)


def _pairs(pairs: Pairs | None) -> Iterator[str]:
    if pairs is None or not pairs.ranked:
        return
    yield "The characters, sent and received:"
    for each in pairs.ranked:
        yield f"  {percent(each.probability):>10}  {each.transformation} (explains {each.explains} of {each.wrong})"
    if pairs.send_next:
        yield f"  Send {ITA2.letter(pairs.send_next)} ({pairs.send_next}) next; it would come as:"
        for then in pairs.then:
            yield f"    {ITA2.letter(then.would_come_as)} ({then.would_come_as}) if {then.transformation}"
    yield ""


def _not_counted(gone: Iterable[NotCounted]) -> Iterator[str]:
    """Tell what was found before an adjustment that may have mended or upset it: to be looked for again."""
    there = [each for each in gone if each.state.endswith("present")]
    if not there:
        return
    yield "Found before an adjustment, not counted any more; look again:"
    for says in dict.fromkeys(each.says for each in there):
        yield from wrapped(f"  {says}", 4)
    changes = list(dict.fromkeys(change for each in there for change in each.overtaken_by))
    yield from wrapped(f"  Overtaken by {'; '.join(changes[-3:])}.", 2)
    yield ""


def wrapped(text: str, indent: int) -> list[str]:
    """Break a line at the width of a page, later lines set in."""
    bare = text.lstrip()
    first = text[: len(text) - len(bare)]
    return textwrap.wrap(bare, WIDTH, initial_indent=first, subsequent_indent=" " * indent, break_on_hyphens=False)


def _low(text: str) -> str:
    return text if text[1:2].isupper() else text[0].lower() + text[1:]
