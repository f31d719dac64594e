"""A round of practice in words and as a JSON document."""

from collections.abc import Iterable

from tapewright.advisor.document import Diagnosis
from tapewright.advisor.explain import percent
from tapewright.advisor.reason import diagnose
from tapewright.advisor.search import find
from tapewright.advisor.words import wrapped
from tapewright.course.practise import Round, Step

FORMAT = "tapewright/practice/1"
MOST_SHOWN = 12
#: A change of belief from which it is worth a word.
TOLD_FROM = 0.05


def complaint_text(play: Round, seed: int) -> str:
    """Say what the machine's owner complains of."""
    lines = [f"A {play.model.title}, number {seed}. It was checked dead and turned by hand. The complaint:"]
    lines += [f"  {play.model.findings[answer.finding].says}." for answer in play.answers]
    return "\n".join([*lines, ""])


def step_text(play: Round, step: Step) -> str:
    """Say what came of one step."""
    head = f"{step.minutes:g} min, {play.minutes:g} so far."
    if step.came and step.came[0][0] == "mended":
        return f"{head} " + ("Mended." if step.came[0][1] == "yes" else "It is still there.")
    seen = [play.model.findings[name].says for name, answer in step.came if answer == "yes"]
    unsaid = sum(answer == "can't say" for _, answer in step.came)
    lines = [head, *(f"  yes: {text}" for text in seen)]
    lines += [] if seen else ["  nothing of what this can show" if step.came else "  on record"]
    lines += [f"  {unsaid} could not be said"] if unsaid else []
    return "\n".join(lines)


def told_text(before: Diagnosis, after: Diagnosis) -> str:
    """Return what a step told: the cause that gained most, what it ruled out; empty when nothing moved.

    Args:
        before: what is believed without the step.
        after: what is believed with it.
    """
    was = {(each.cause, each.at): each.probability for each in before.causes}
    gained = max(after.causes, key=lambda each: each.probability - was.get((each.cause, each.at), 0.0))
    had = was.get((gained.cause, gained.at), 0.0)
    lines = []
    if gained.probability - had >= TOLD_FROM:
        lines += wrapped(f"  told: {_low(gained.says)}, {percent(gained.probability)} (was {percent(had)})", 8)
    now = {each.cause: each.probability for each in after.causes}
    out = [each for each in before.causes if each.probability >= TOLD_FROM and now[each.cause] < each.probability / 4]
    if out:
        lines += wrapped(f"  ruled out, nearly: {'; '.join(_low(each.says) for each in out)}", 8)
    return "\n".join(lines)


def _low(text: str) -> str:
    return text[:1].lower() + text[1:]


def advice_text(play: Round) -> str:
    """Say what the advisor would do now."""
    found = diagnose(play.model, play.evidence())
    if found.stop is not None:
        stop, percent = found.stop, 100 * found.stop.probability
        return _mind(stop.cautions) + f"remedy {stop.cause}: {stop.do} ({percent:.0f} %)"
    if not found.next_tests:
        best = found.causes[0]
        return _mind(best.remedy.cautions) + f"remedy {best.cause}"
    test = found.next_tests[0]
    return _mind(test.cautions) + f"{test.test}: {test.do} ({test.minutes:g} min)"


def _mind(cautions: Iterable[str]) -> str:
    """Return what to mind before a step at a real machine, a line each: practice makes the habit."""
    return "".join(f"! {caution}\n" for caution in cautions)


def tests_text(play: Round, words: str) -> str:
    """List tests and questions that fit a word."""
    matches = find(words, play.model)[:MOST_SHOWN] if words else []
    names = dict.fromkeys(play.model.findings[match.finding].test for match in matches)
    tests = [play.model.tests[name] for name in names if name in play.model.tests]
    tests = tests or [test for test in play.model.tests.values() if not test.question]
    return "\n".join(f"  {test.name:30s} {test.minutes:3g} min  {test.do}" for test in tests)


def score_text(play: Round, beside: Round) -> str:
    """Say how the learner did, and how the advisor did on the same machine."""
    truth = ", ".join(play.model.causes[fault].says for fault in play.machine.faults)
    lines = [*wrapped(f"It was: {truth}.", 2), f"You: {_spent(play)}.", f"The advisor: {_spent(beside)}, by"]
    for step in beside.steps:
        remedy = bool(step.came) and step.came[0][0] == "mended"
        lines.append(f"  {step.minutes:3g} min  {'remedy ' if remedy else ''}{step.name}")
    return "\n".join(lines)


def _spent(play: Round) -> str:
    steps = f"{len(play.steps)} step{'' if len(play.steps) == 1 else 's'}"
    return f"{'mended' if play.mended else 'not mended'} after {play.minutes:g} min and {steps}"


def score_document(play: Round, beside: Round, seed: int) -> dict[str, object]:
    """Return the document tapewright/practice/1."""
    return {
        "format": FORMAT,
        "machine": play.model.name,
        "seed": seed,
        "faults": list(play.machine.faults),
        "complaint": [answer.finding for answer in play.answers if answer.how == "the complaint"],
        "you": _side(play),
        "advisor": _side(beside),
        "ratio": play.minutes / beside.minutes if play.mended and beside.mended and beside.minutes else None,
    }


def _side(play: Round) -> dict[str, object]:
    return {
        "mended": play.mended,
        "minutes": play.minutes,
        "steps": [{"did": step.name, "minutes": step.minutes, "came": dict(step.came)} for step in play.steps],
    }
