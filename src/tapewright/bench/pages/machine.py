"""One machine: the chain with the state of each station, one next step, what is open, and what was done."""

from typing import TYPE_CHECKING

from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.steps import next_step, take_back, write_answers, write_remedy
from tapewright.book.entry import MachineOnShelf

if TYPE_CHECKING:
    from tapewright.advisor.measure import FaultReport

#: Stations that stand below the chain, and beside it; all others make the chain.
BELOW = ("motor", "governor", "clutch")
BESIDE = ("instrument", "record")
#: what a station says of which nothing is known
NOTHING = "nothing was examined that would prove it"
LINES_SHOWN, NOT_SHOWN_LISTED, LONGEST_WHY = 30, 8, 200


def answer(asking: Asking) -> dict[str, object]:
    """Return where the machine stands, what to do next, what is open, and the last lines of the book."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    standing = asking.bench.standings.of(machine)
    found = standing.diagnosis
    before = asking.query.get("before", "")
    lines = book.timeline(machine.key, limit=LINES_SHOWN, before=int(before) if before.isdecimal() else None)
    return {
        "machine": heading(machine),
        "advisor": found.machine.title,
        "chain": chain(standing),
        "next": next_step(standing),
        "also": [{"name": test.test, "do": test.do, "minutes": test.minutes} for test in found.next_tests[1:4]],
        "causes": [
            {
                "says": b.says,
                "station": b.station,
                "probability": b.probability,
                "for": list(b.supports),
                "against": list(b.against),
            }
            for b in found.causes[:5]
            if b.probability >= 0.05 and found.evidence
        ],
        "found": [
            {"sort": sort, "key": e.key, "says": e.new.body["says"], "phase": e.new.body["phase"]}
            for sort, e in book.newest_evidence(machine.key).items()
            if sort != "observation"
        ],
        "open": _open(asking, machine, standing),
        "timeline": [
            {
                "number": line.number,
                "key": line.key,
                "at": line.at.isoformat(),
                "kind": line.kind,
                "sort": line.sort,
                "by": line.by,
                "says": line.says,
            }
            for line in lines
        ],
    }


def chain(standing: "FaultReport") -> dict[str, list[dict[str, object]]]:
    """Return the stations: the chain itself, what drives it, what stands beside it."""
    out: dict[str, list[dict[str, object]]] = {"chain": [], "below": [], "beside": []}
    for s in standing.diagnosis.stations:
        row = "below" if s.station in BELOW else "beside" if s.station in BESIDE else "chain"
        out[row].append(
            {
                "station": s.station,
                "title": s.title,
                "state": s.state,
                "probability": s.probability,
                "because": list(s.because),
                "examined": s.because != (NOTHING,),
            }
        )
    return out


def _open(asking: Asking, machine: MachineOnShelf, standing: "FaultReport") -> dict[str, object]:
    """Return what is open, as it is counted everywhere."""
    found = asking.bench.open.of(machine)
    not_shown = found.of_kind("not shown")
    return {
        "counts": found.words,
        "rechecks": [{"what": point.what, "because": point.why} for point in found.of_kind("recheck")],
        "outside": [point.what for point in found.of_kind("outside")],
        "not_shown": [{"check": point.what, "why": point.why} for point in not_shown[:NOT_SHOWN_LISTED]],
        "not_shown_more": max(0, len(not_shown) - NOT_SHOWN_LISTED),
        "unexplained": [*found.unexplained, *(point.what for point in found.of_kind("unexplained"))],
        "notes": [*standing.diagnosis.notes, *_overtaken(standing)],
    }


def _overtaken(standing: "FaultReport") -> list[str]:
    """Say what was found before an adjustment and is not counted any more."""
    gone = [each for each in standing.diagnosis.not_counted if each.state.endswith("present")]
    says = dict.fromkeys(each.says for each in gone)
    by = dict.fromkeys(change for each in gone for change in each.overtaken_by)
    return [f"found before {'; '.join(by)}, to be looked for again: {'; '.join(says)}"] if says else []


def step(said: Said) -> Done:
    """Take the outcome of the next step: answers to a test, or whether a remedy helped."""
    bench = said.asking.bench
    machine = bench.book.machine(said.asking.where["machine"])
    model = bench.standings.of(machine).model
    write = write_remedy if said.fields.get("remedy") else write_answers
    entry = write(bench, machine.key, model, said.fields)
    helped = entry.new.kind == "adjustment"
    says = "The remedy helped. What was found before it is closed." if helped else str(entry.new.body["says"])
    return Done(f"/machines/{machine.key}", (entry.key,), f"Noted. {says}")


def note(said: Said) -> Done:
    """Take a note in words."""
    bench = said.asking.bench
    machine = bench.book.machine(said.asking.where["machine"])
    entry = bench.write(machine.key, "note", {"text": said.fields.get("text", "")}, by=said.fields.get("by", ""))
    return Done(f"/machines/{machine.key}#timeline", (entry.key,), "The note is in the book.")


def undo(said: Said) -> Done:
    """Take an answer, a note or a remedy back."""
    bench = said.asking.bench
    machine = bench.book.machine(said.asking.where["machine"])
    entry = take_back(
        bench, machine.key, said.fields.get("entry", ""), said.fields.get("why", "").strip()[:LONGEST_WHY]
    )
    body = entry.new.body
    return Done(f"/machines/{machine.key}", (entry.key,), str(body.get("says") or body.get("text") or body.get("what")))


PAGE = Page(
    "machine",
    "/machines/{machine}",
    answer,
    "Where one machine stands and what to do next.",
    menu="Machine",
    actions={"step": step, "note": note, "undo": undo},
)
