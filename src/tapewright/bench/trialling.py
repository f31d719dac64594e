"""Trials of screws from the page into the book: one trial is one line, with the trials' file and what trim makes of it.

screws and readings --begin--> problem --a trial added--> trials file --trim--> a line of kind "trial"
undo: the newest file without its last trial, as a line that replaces the one before
mend: the newest file with other readings in one trial, or other play and stops of a screw, likewise
"""

import hashlib
import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from tapewright.book.entry import AT_THE_BENCH
from tapewright.book.entry import Entry as Line
from tapewright.book.ports import Book
from tapewright.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tapewright.gauges.document import Trim
    from tapewright.gauges.requirement import Requirement
    from tapewright.gauges.trim.problem import Knob, Problem, Seen, Target

ROLE, NAME = "trials", "trials.toml"
LARGEST_FILE = 500_000
MM_AN_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Trialled:
    """The trials so far, the line that holds them, and what trim advises."""

    line: Line
    problem: "Problem"
    advice: "Trim"


def trialled(book: Book, machine: str) -> Trialled | None:
    """Return the newest trials of screws; None when there are none.

    Raises:
        InputError: when the file in the book cannot be read any more.
    """
    from tapewright.book.trials_in_book import newest_trials

    held = newest_trials(book, machine)
    if held is None:
        return None
    with book.raw(held.sha256) as stream:
        return Trialled(held.line, *_advised(held.name, stream.read()))


@lru_cache(maxsize=16)
def _advised(name: str, content: bytes) -> "tuple[Problem, Trim]":
    """Read trials and ask trim, once for each file: many coupled screws take it seconds, and every page asks."""
    from tapewright.gauges.files.trials_file import read_trials
    from tapewright.gauges.trim.advice import advise

    problem = read_trials(name, content)
    return problem, advise(problem)


def begin_from_file(book: Book, machine: str, name: str, content: bytes, by: str) -> Line:
    """Begin with the trials of a file.

    Raises:
        InputError: when it is too long, or no trials file; nothing is written then.
    """
    from tapewright.gauges.files.trials_file import read_trials

    if len(content) > LARGEST_FILE:
        raise InputError(name, expected=f"trials of at most {LARGEST_FILE} bytes", found=f"{len(content)} bytes")
    return _write(book, machine, read_trials(name, content), by)


def begun(screws: "Sequence[Knob]", requirements: "Sequence[Requirement]") -> "Problem":
    """Return trials without a trial yet: screws that stand at 0, readings with the limits of the sheet."""
    from tapewright.gauges.trim.from_sheet import target_of
    from tapewright.gauges.trim.problem import Problem

    return Problem(tuple(screws), tuple(target_of(r) for r in requirements), ())


def add_trial(
    book: Book,
    machine: str,
    problem: "Problem",
    turned: "Sequence[float]",
    typed: "Sequence[str]",
    *,
    inches: bool,
    by: str,
) -> Line:
    """Add what was turned and what was read then.

    Raises:
        InputError: when a reading makes no sense, or none was given; nothing is written then.
    """
    from tapewright.gauges.trim.problem import Trial

    stood = problem.trials[-1].at if problem.trials else (0.0,) * len(problem.knobs)
    at = tuple(round(was + by_, 6) for was, by_ in zip(stood, turned, strict=True))
    read = tuple(_seen(target, words, inches) for target, words in zip(problem.targets, typed, strict=True))
    if all(seen is None for seen in read):
        raise InputError("the trial", expected="at least one reading", found="none")
    return _write(book, machine, replace(problem, trials=(*problem.trials, Trial(at, read))), by)


def take_back(book: Book, machine: str) -> Line:
    """Take the last trial back: a line with the trials before it replaces the newest one.

    Raises:
        InputError: when there is none to take back, or only the one that trim needs at least.
    """
    kept = trialled(book, machine)
    if kept is None or len(kept.problem.trials) < 2:
        raise InputError(
            "the trials",
            expected="a trial after the first to take back",
            found="none",
            do='To correct what was read as found, use "Mend a trial".',
        )
    problem = replace(kept.problem, trials=kept.problem.trials[:-1])
    return _write(book, machine, problem, "", kept.line.key)


def mend_trial(
    book: Book, machine: str, kept: Trialled, number: int, typed: "Sequence[str]", *, inches: bool, by: str
) -> Line:
    """Put other readings in a trial: a line with them replaces the newest one; a box left empty keeps what it was.

    Raises:
        InputError: when there is no such trial, a reading makes no sense, or none was given.
    """
    trials = kept.problem.trials
    if not 0 <= number < len(trials):
        raise InputError("the trials", expected=f"a trial from 0 to {len(trials) - 1}", found=str(number))
    given = tuple(_seen(target, words, inches) for target, words in zip(kept.problem.targets, typed, strict=True))
    if all(seen is None for seen in given):
        raise InputError("the trial", expected="at least one reading", found="none")
    read = tuple(new or old for new, old in zip(given, trials[number].read, strict=True))
    mended = (*trials[:number], replace(trials[number], read=read), *trials[number + 1 :])
    return _write(book, machine, replace(kept.problem, trials=mended), by, kept.line.key, "Mended")


def mend_screws(book: Book, machine: str, kept: Trialled, knobs: "Sequence[Knob]", by: str) -> Line:
    """Return the screws other play and stops: a line with them replaces the newest one.

    Raises:
        InputError: when a trial stands beyond a stop.
    """
    for n, knob in enumerate(knobs):
        stood = [trial.at[n] for trial in kept.problem.trials]
        low, high = -math.inf if knob.low is None else knob.low, math.inf if knob.high is None else knob.high
        if not low <= min(stood) <= max(stood) <= high:
            raise InputError(
                knob.name,
                expected="stops beyond every place where it stood in a trial",
                found=f"stops at {low:g} and {high:g}, and trials from {min(stood):g} to {max(stood):g}",
                do="Count the turns from where it stands now to each stop.",
            )
    return _write(book, machine, replace(kept.problem, knobs=tuple(knobs)), by, kept.line.key, "Mended")


def _write(
    book: Book, machine: str, problem: "Problem", by: str, replaces: str | None = None, done: str = "Taken back"
) -> Line:
    from tapewright.book.keep_result import RawFile, Result, Taken, keep_result
    from tapewright.gauges.files.trials_writer import trials_toml
    from tapewright.gauges.trim.measure import document as trim_document

    written = trials_toml(problem).encode()
    # advised from what the file says, so that the book can be worked out again from it
    advice = trim_document(_advised(NAME, written)[1])
    raw = [RawFile(ROLE, NAME, hashlib.sha256(written).hexdigest(), written)]
    result = Result(advice, "trim", raw=raw, taken=Taken(by=by))
    if replaces:
        taken, reason = Taken(by=by or AT_THE_BENCH), f"{done[:1].lower()}{done[1:]} at the bench"
        result = Result(advice, "trim", raw=raw, taken=taken, replaces=replaces, reason=reason, done=done)
    return keep_result(book, machine, result)


def _seen(target: "Target", typed: str, inches: bool) -> "Seen | None":
    """Return what the gauge said; None for a box left empty."""
    from tapewright.gauges.gauge import factor_between, is_length
    from tapewright.gauges.trim.problem import Seen
    from tapewright.gauges.typing_in import Question, understood

    if not typed.strip():
        return None
    question = Question(target.name, "", takes_eye=False, takes_number=True, takes_leaves=is_length(target.unit))
    entry = understood(typed.strip().lower(), question)
    if entry is None:
        takes = "a number, two numbers (goes, does not go), >0.2 or <0.2, or leaves such as 0.10+0.15"
        raise InputError(target.name, expected=takes, found=repr(typed[:40]))
    scale = MM_AN_INCH if inches and target.unit == "mm" else 1.0
    if entry.unit:
        scale = factor_between(entry.unit, target.unit)

    def of(number: float | None) -> float | None:
        return None if number is None or not math.isfinite(number) else number * scale

    if entry.leaves:
        return Seen(value=sum(entry.leaves) * scale)
    return Seen(of(entry.value), of(entry.u), of(entry.low), of(entry.high))
