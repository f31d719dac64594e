"""Questions: one test's findings, each answered yes, no or can't say; or find what you noticed by your own words."""

from typing import Any

from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.steps import next_step, test_card, write_answers

MOST_MATCHES = 8


def answer(asking: Asking) -> dict[str, object]:
    """Return the questions of a test (the next one when none is named), the other steps, and what words may mean."""
    from tapewright.advisor.search import find

    machine = asking.bench.book.machine(asking.where["machine"])
    found = asking.bench.standings.of(machine).diagnosis
    model, words = found.model, asking.query.get("find", "").strip()
    matches = [model.findings[match.finding] for match in find(words, model)[:MOST_MATCHES]] if words else []
    return {
        "machine": heading(machine),
        "words": words,
        "matches": [{"finding": f.name, "says": f.says, "ask": f.ask, "seen": f.seen} for f in matches],
        "test": None if words else _test(found, asking.query.get("test", "")),
        "others": [{"name": t.name, "do": t.do, "minutes": t.minutes, "why": t.why} for t in found.next_tests],
        "answered": [
            {"finding": a.finding, "says": model.findings[a.finding].says, "state": a.state, "how": a.how}
            for a in found.settled.values()
        ],
    }


def _test(found: Any, name: str) -> dict[str, object] | None:
    """Return the card of the test asked for, with what each outcome would mean when it is one of the advised."""
    advised = {test.name: test for test in found.next_tests}
    if name in advised:
        return test_card(found.model, advised[name])
    if name in found.model.tests:
        return plain_card(found.model, name)
    step = next_step(found)
    return step if step is not None and step["kind"] == "test" else None


def plain_card(model: Any, name: str) -> dict[str, object]:
    """Return the card of a test that is not among those advised: without outcomes."""
    from tapewright.advisor.outcomes import AdvisedTest

    t = model.tests[name]
    test = AdvisedTest(t.name, t.do, t.minutes, t.risk, t.depth, 0.0, (), t.cautions, (), t.opens, "", t.question)
    return test_card(model, test) | {"why": ""}


def take(said: Said) -> Done:
    """Write the answers as one observation."""
    bench = said.asking.bench
    machine = bench.book.machine(said.asking.where["machine"])
    model = bench.standings.of(machine).diagnosis.model
    entry = write_answers(bench, machine.key, model, said.fields)
    return Done(f"/machines/{machine.key}", (entry.key,), f"Noted. {entry.new.body['says']}")


PAGE = Page(
    "questions",
    "/machines/{machine}/questions",
    answer,
    "The questions of a test, answered yes, no or can't say.",
    menu="Questions",
    actions={"take": take},
)
