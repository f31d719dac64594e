"""Questions: one test's findings, each answered yes, no or can't say; or find what you noticed by your own words."""

from typing import TYPE_CHECKING

from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.steps import next_step, test_card, write_answers

if TYPE_CHECKING:
    from tapewright.advisor.machine_model import Model
    from tapewright.advisor.measure import FaultReport

MOST_MATCHES = 8


def answer(asking: Asking) -> dict[str, object]:
    """Return the questions of a test (the next one when none is named), the other steps, and what words may mean."""
    from tapewright.advisor.search import find

    machine = asking.bench.book.machine(asking.where["machine"])
    standing = asking.bench.standings.of(machine)
    found = standing.diagnosis
    model, words = standing.model, asking.query.get("find", "").strip()
    matches = [model.findings[match.finding] for match in find(words, model)[:MOST_MATCHES]] if words else []
    return {
        "machine": heading(machine),
        "words": words,
        "matches": [{"finding": f.name, "says": f.says, "ask": f.ask, "seen": f.seen} for f in matches],
        "test": None if words else _test(standing, asking.query.get("test", "")),
        "others": [{"name": t.test, "do": t.do, "minutes": t.minutes, "why": t.why} for t in found.next_tests],
        "answered": [
            {"finding": a.finding, "says": a.says, "state": a.state, "how": a.how} for a in found.evidence
        ],
    }


def _test(standing: "FaultReport", name: str) -> dict[str, object] | None:
    """Return the card of the test asked for, with what each outcome would mean when it is one of the advised."""
    advised = {test.test: test for test in standing.diagnosis.next_tests}
    if name in advised:
        return test_card(standing.model, advised[name])
    if name in standing.model.tests:
        return plain_card(standing.model, name)
    step = next_step(standing)
    return step if step is not None and step["kind"] == "test" else None


def plain_card(model: "Model", name: str) -> dict[str, object]:
    """Return the card of a test that is not among those advised: without outcomes."""
    from tapewright.advisor.document import NextTest

    t = model.tests[name]
    test = NextTest(
        test=t.name,
        do=t.do,
        minutes=t.minutes,
        risk=t.risk,
        depth=t.depth,
        information_bits=0.0,
        why="",
        opens=t.opens or None,
        question=t.question,
        tells_apart=(),
        cautions=t.cautions,
        outcomes=(),
    )
    return test_card(model, test) | {"why": ""}


def take(said: Said) -> Done:
    """Write the answers as one observation."""
    bench = said.asking.bench
    machine = bench.book.machine(said.asking.where["machine"])
    model = bench.standings.of(machine).model
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
