"""A line capture: the trace from an hour to a bounce, each contact's lateness, the speed, a receiver's view of it."""

from collections.abc import Mapping, Sequence
from typing import Any

from starlette.responses import Response

from tapewright.bench.drawn.receiver import histogram_bars, receiver_bars
from tapewright.bench.drawn.rulers import rulers
from tapewright.bench.evidence_of import certain, chosen, others, told
from tapewright.bench.machines import heading
from tapewright.bench.page import Asking, Page

SORT = "line"
#: The trace opens on so many characters, so many units before the first of them.
OPENS_ON, BEFORE_UNITS = 2, 1.5
FALLBACK_S = 0.5
#: Names of functions that are written as what they do; any other stands in brackets.
AS_IT_IS = {"SP": " ", "LF": "⟨LF⟩\n"}


def answer(asking: Asking) -> dict[str, Any]:
    """Return the capture with all that is drawn of it."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    entry = chosen(asking, machine.key, SORT)
    document: dict[str, Any] = {
        "machine": heading(machine), "entry": None, "others": others(book, machine.key, SORT, entry),
    }  # fmt: skip
    if entry is None:
        return document
    result = entry.new.body["result"]
    return document | {
        "entry": told(entry), "result": result, "opens_on": opens_on(result), "rulers": rulers(result),
        "receiver": receiver_bars(result["receiver"]), "text": runs(result["characters"]),
        "histogram": histogram_bars(result["distortion"].get("histogram")),
    }  # fmt: skip


def opens_on(result: Mapping[str, Any]) -> dict[str, float]:
    """Return the stretch the trace opens on: a few characters, the first that shows what is farthest off among them."""
    characters, unit = result["characters"], result["speed"]["unit_ms"]
    if not characters or unit is None:
        return {"from_s": 0.0, "to_s": max(FALLBACK_S, float(result["source"]["duration_s"]))}
    first = max(0, min(_telling(result), len(characters) - OPENS_ON))
    last = characters[min(first + OPENS_ON, len(characters)) - 1]
    unit_s = unit["value"] / 1e3
    return {"from_s": characters[first]["start_s"] - BEFORE_UNITS * unit_s, "to_s": last["start_s"] + 8 * unit_s}


def _telling(result: Mapping[str, Any]) -> int:
    """Number the first character in which the contact that is farthest off closes after a space."""
    off = [c for c in result["contacts"] if c.get("probability_off", 0) > 0.5 and c["contact"].isdecimal()]
    if not off:
        return 0
    worst = max(off, key=lambda c: max(abs((c[f"{side}_late_ms"] or {"value": 0})["value"])
                                       for side in ("closing", "opening")))  # fmt: skip
    k = int(worst["contact"])
    shows = (i for i, c in enumerate(result["characters"]) if ("0" + c["code"])[k - 1 : k + 1] == "01")
    return next(shows, 0)


def runs(characters: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Return the text in runs: what is certain together, each doubtful character alone with why and where it is."""
    out: list[dict[str, Any]] = []
    for number, character in enumerate(characters, start=1):
        name = character["letter_or_figure"]
        shown = name if len(name) == 1 else AS_IT_IS.get(name, f"⟨{name}⟩")
        if character["notes"]:
            out.append({"text": shown, "doubt": "; ".join(character["notes"]), "number": number,
                        "at_s": character["start_s"]})  # fmt: skip
        elif out and out[-1]["doubt"] is None:
            out[-1]["text"] += shown
        else:
            out.append({"text": shown, "doubt": None})
    return out


def trace(asking: Asking) -> Response:
    """Return a stretch of the trace: ?from= and ?to= in seconds, ?columns= it is drawn in."""
    from tapewright.bench.traces.ask import window

    return window(asking, _study(asking))


def marks(asking: Asking) -> Response:
    """Return every character and instant of the capture."""
    from tapewright.bench.traces.wire import answer as arrays

    study = _study(asking)
    return arrays(study.marks, **study.head)


def _study(asking: Asking) -> Any:
    from tapewright.bench.traces.ahead import key_of
    from tapewright.bench.traces.line_study import study_line

    bench, entry = asking.bench, certain(asking, SORT)
    return bench.traces.get(key_of(entry.new.body), lambda folder: study_line(bench.book, entry, folder))


PAGE = Page(
    "line", "/machines/{machine}/line/{entry}", answer, "One line capture: trace, contacts, speed, receiver, text.",
    menu="Line", module="line", data={"trace": trace, "marks": marks},
)  # fmt: skip
