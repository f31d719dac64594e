"""The line as it happens: each key as it is struck, a needle for each contact, before and after a turn of a screw."""

from typing import Any

from starlette.responses import JSONResponse, Response

from tapewright.bench import said as fields_of
from tapewright.bench.from_book import heading, identity
from tapewright.bench.live.watching import Order
from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.errors import InputError
from tapewright.furniture.phases import PHASES

LONGEST_LABEL, LONGEST_TEXT = 200, 2000
GROWING = "file"


def answer(asking: Asking) -> dict[str, object]:
    """Return how the watch stands, and what a new one would begin with."""
    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    known, watching = identity(book, machine.key), asking.bench.watches.of(machine.key)
    return {
        "machine": heading(machine),
        "phases": list(PHASES),
        "nominal": str(known.get("nominal_baud") or ""),
        "alphabet": str(known.get("alphabet") or "ita2"),
        "watching": None if watching is None else watching.document(),
    }


def offers(asking: Asking) -> Response:
    """Return the sources there are; those that cannot be used with the reason and the remedy."""
    from tapewright.bench.live.growing import offered
    from tapewright.line.live.watch_json import offer_document
    from tapewright.recordings.live.sources import on_offer

    asking.bench.book.machine(asking.where["machine"])
    document = offer_document(on_offer())
    for source in document["sources"]:
        if source["source"] == GROWING:
            names, why_not = offered(asking.bench.growing)
            source |= {
                "what": "a file that grows, or a named pipe",
                "available": not why_not,
                "why_not": why_not,
                "found": list(names),
            }
    return JSONResponse(document, headers={"cache-control": "no-store"})


def start(said: Said) -> Done:
    """Begin to watch."""
    from tapewright.bench.live.growing import PATIENCE_S, place_of, raw_kind
    from tapewright.recordings.live.sources import source_kinds

    machine = said.asking.bench.book.machine(said.asking.where["machine"])
    kind, where = said.fields.get("source", ""), said.fields.get("where", "").strip()
    if kind not in (kinds := source_kinds()):
        raise InputError("the watch", place="source", expected=f"one of {', '.join(kinds)}", found=repr(kind[:40]))
    baud = fields_of.nominal_baud(said.fields)
    phase = said.fields.get("phase", PHASES[0])
    if phase not in PHASES:
        raise InputError("the watch", place="when", expected=f"one of {', '.join(PHASES)}", found=repr(phase[:40]))
    channel = fields_of.number(said.fields, "channel", 1, 64)
    asked = {
        "channel": None if channel is None else int(channel),
        "text": said.fields.get("typed", "")[:LONGEST_TEXT],
        "rate_hz": fields_of.number(said.fields, "rate", 1, 1e8),
    }
    if kind == GROWING:
        where = place_of(said.asking.bench.growing, where)
        asked |= {"follow": True, "patience_s": PATIENCE_S, "raw": raw_kind(dict(said.fields))}
    order = Order(
        f"{kind}:{where}" if where else kind,
        "auto" if baud is None else repr(baud),
        fields_of.alphabet_name(said.fields),
        asked,
        phase,
        said.fields.get("by", ""),
        said.fields.get("instrument", ""),
    )
    said.asking.bench.watches.start(machine.key, order)
    return Done(_path(said))


def stop(said: Said) -> Done:
    """End the watch; what was watched goes into the book."""
    _running(said).stop()
    return Done(_path(said))


def hands_on(said: Said) -> Done:
    """Say that something is being turned: what comes belongs to no stretch until the trial is marked."""
    _running(said).tell({"do": "hands-on"})
    return Done(_path(said))


def hands_off(said: Said) -> Done:
    """Say that nothing was turned after all."""
    _running(said).tell({"do": "hands-off"})
    return Done(_path(said))


def trial(said: Said) -> Done:
    """Mark what was done: before and after separate themselves."""
    label = " ".join(said.fields.get("label", "").split())[:LONGEST_LABEL] or "something was turned"
    _running(said).tell({"do": "trial", "label": label})
    return Done(_path(said))


def _running(said: Said) -> Any:
    machine = said.asking.bench.book.machine(said.asking.where["machine"])
    return said.asking.bench.watches.running(machine.key)


def _path(said: Said) -> str:
    return f"/machines/{said.asking.where['machine']}/live"


PAGE = Page(
    "live",
    "/machines/{machine}/live",
    answer,
    "The line as it happens: characters, needles, trials.",
    menu="Live",
    module="live",
    data={"offers": offers},
    actions={"start": start, "stop": stop, "hands-on": hands_on, "hands-off": hands_off, "trial": trial},
)
