"""A recorded coil current: whether the armature moved, when it landed, and the current itself."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from tapewright.bench.from_book import certain, chosen, read_kept
from tapewright.bench.page import Asking, Page

if TYPE_CHECKING:
    from tapewright.coil.document import Coil

SORT = "coil"
MOVED = {True: "The armature moved", False: "The armature did not move", None: "Whether it moved is not shown"}
#: The picture opens on this much before the first closing and this many landings (or time constants) after it.
BEFORE_MS, AFTER = 5.0, 4.0


def answer(asking: Asking) -> dict[str, object]:
    """Return what the current says."""
    from tapewright.coil.document import Coil

    document, entry = chosen(asking.bench.book, asking.where, SORT)
    if entry is None:
        return document
    coil = read_kept(Coil, entry)
    return document | {
        "result": entry.new.body["result"],
        "moved": MOVED[coil.moved],
        "opens_on": _opens_on(coil),
    }


def _opens_on(coil: "Coil") -> dict[str, float] | None:
    """Return the stretch the picture opens on: the first closing with its landing; None without one."""
    if not coil.closures:
        return None
    first = coil.closures[0]
    landings = (first.landing_ms.value, coil.landing_ms.value, coil.tau_ms.value)
    landing_ms = next((value for value in landings if value), None)
    size = 50.0 if landing_ms is None else AFTER * landing_ms
    return {"from_s": first.on_s - BEFORE_MS / 1e3, "to_s": first.on_s + size / 1e3}


def trace(asking: Asking) -> Response:
    """Return a stretch of the current: ?from= and ?to= in seconds, ?columns= it is drawn in."""
    from tapewright.bench.traces.wire import window

    return window(asking, _study(asking))


def _study(asking: Asking) -> Any:
    from tapewright.bench.traces.signal_study import study_coil

    bench, entry = asking.bench, certain(asking.bench.book, asking.where, SORT)

    def make(folder: Path) -> Any:
        return study_coil(bench.book, entry, folder)

    return bench.traces.get(entry.key, make)


PAGE = Page(
    "coil",
    "/machines/{machine}/coil/{entry}",
    answer,
    "One recorded coil current: moved or not, and when.",
    module="coil",
    data={"trace": trace},
)
