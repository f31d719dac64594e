"""A line capture: the trace from an hour to a bounce, each contact's lateness, the speed, a receiver's view of it."""

from typing import Any

from starlette.responses import Response

from tapewright.bench.from_book import certain, chosen, read_kept
from tapewright.bench.page import Asking, Page

SORT = "line"


def answer(asking: Asking) -> dict[str, object]:
    """Return the capture with all that is drawn of it."""
    from tapewright.bench.drawn import line_pictures as draw
    from tapewright.line.document import Line

    document, entry = chosen(asking.bench.book, asking.where, SORT)
    if entry is None:
        return document
    line = read_kept(Line, entry)
    return document | {
        "result": entry.new.body["result"],
        "opens_on": draw.opens_on(line),
        "rulers": draw.rulers(line),
        "receiver": draw.receiver_bars(line.receiver),
        "text": draw.runs(line.characters),
        "histogram": draw.histogram_bars(line.distortion.histogram),
    }


def trace(asking: Asking) -> Response:
    """Return a stretch of the trace: ?from= and ?to= in seconds, ?columns= it is drawn in."""
    from tapewright.bench.traces.wire import window

    return window(asking, _study(asking))


def marks(asking: Asking) -> Response:
    """Return every character and instant of the capture."""
    from tapewright.bench.traces.wire import answer as arrays

    study = _study(asking)
    return arrays(study.marks, **study.head)


def _study(asking: Asking) -> Any:
    from tapewright.bench.traces.kept import key_of
    from tapewright.bench.traces.signal_study import study_line

    bench, entry = asking.bench, certain(asking.bench.book, asking.where, SORT)
    return bench.traces.get(key_of(entry.new.body), lambda folder: study_line(bench.book, entry, folder))


PAGE = Page(
    "line",
    "/machines/{machine}/line/{entry}",
    answer,
    "One line capture: trace, contacts, speed, receiver, text.",
    menu="Line",
    module="line",
    data={"trace": trace, "marks": marks},
)
