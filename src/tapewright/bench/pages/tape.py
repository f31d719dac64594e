"""A picture of tape: the picture with its holes ringed, the strip laid straight, the worst holes, the pitch."""

from collections.abc import Mapping
from typing import Any

from starlette.responses import Response

from tapewright.alphabets import ALPHABETS
from tapewright.alphabets.shift import decode_each
from tapewright.bench.from_book import certain, chosen
from tapewright.bench.page import Asking, Page
from tapewright.errors import InputError

SORT = "tape"
#: Below this share of equal characters, line and tape are not of one event.
ONE_EVENT = 0.6


def answer(asking: Asking) -> dict[str, object]:
    """Return the tape with all that is drawn of it."""
    from tapewright.bench.drawn.tape_pictures import HEIGHT, STEP

    document, entry = chosen(asking.bench.book, asking.where, SORT)
    if entry is None:
        return document
    body = entry.new.body
    strips = [_strip(strip, body) for strip in body["result"]["strips"]]
    return document | {
        "result": body["result"],
        "strips": strips,
        "step": STEP,
        "height": HEIGHT,
        "against_line": _against_line(asking, entry.new.machine, body),
    }


def _strip(strip: Mapping[str, Any], body: Mapping[str, Any]) -> dict[str, object]:
    from tapewright.bench.drawn.tape_pictures import pieces, pitch_line, worst_holes

    scale = body["result"]["scale"]["px_per_mm"]["value"]
    alphabet = _alphabet(body)
    names = [
        text if text.strip() and text.isprintable() else alphabet.letter(code)
        for code, (_, text) in zip(strip["codes"], decode_each(strip["codes"], alphabet), strict=True)
    ]
    pitch = pitch_line(strip, scale)
    return {
        "rows": len(strip["rows"]),
        "names": names,
        "pieces": pieces(strip, names, pitch),
        "pitch": pitch,
        "worst": worst_holes(strip),
    }


def _alphabet(body: Mapping[str, Any]) -> Any:
    steps = body.get("steps", {})
    return ALPHABETS.get(str(steps.get("settings", steps).get("alphabet", "")), ALPHABETS["ita2"])


def _against_line(asking: Asking, machine: str, body: Mapping[str, Any]) -> dict[str, object] | None:
    """Compare with the newest line capture of the same machine; None when there is none or nothing to compare."""
    from tapewright.message.comparison import message
    from tapewright.witnesses.report import compare_document
    from tapewright.witnesses.two_witnesses import compare_witnesses

    line = next(iter(asking.bench.book.entries(machine, kinds=("evidence",), sort="line", limit=1)), None)
    strips = body["result"]["strips"]
    if line is None or not strips or not line.new.body["result"]["codes"]:
        return None
    heard = line.new.body["result"]
    found = compare_witnesses(heard["codes"], message(strips[0]["codes"], heard["codes"]))
    document = compare_document(found, heard["source"]["file"], body["result"]["source"]["file"], ())
    alphabet = _alphabet(body)
    places = [
        place
        | {
            f"{side}_name": "nothing" if place[side] is None else alphabet.letter(place[side])
            for side in ("line", "tape")
        }
        for place in document["places"][:20]
    ]
    alike = len(found.places) < (1 - ONE_EVENT) * found.compared
    return document | {"entry": line.key, "one_event": alike, "shown": places}


def picture(asking: Asking) -> Response:
    """Return a part of the picture: ?x=, ?y=, ?w=, ?h= in its pixels, ?columns= wide."""
    x, y, w, h = (_number(asking, name) for name in "xywh")
    return _picture(_study(asking).part(x, y, w, h, _number(asking, "columns", 1, 10_000)))


def straight(asking: Asking) -> Response:
    """Return rows laid straight: ?strip= from 0, ?first=, ?rows=."""
    from tapewright.bench.drawn.tape_pictures import PIECE_ROWS, STEP

    strip, first = _number(asking, "strip", 0, 1000), _number(asking, "first")
    rows = _number(asking, "rows", 1, PIECE_ROWS)
    return _picture(_study(asking).straight(strip, first, rows, 2 * STEP))


def hole(asking: Asking) -> Response:
    """Return one place close up: ?strip= from 0, ?row= from 0, ?track= 1 to 5, ?side= in pixels."""
    strip, row, track = (_number(asking, name, 0, 1_000_000) for name in ("strip", "row", "track"))
    return _picture(_study(asking).hole(strip, row, track, _number(asking, "side", 8, 600)))


def _study(asking: Asking) -> Any:
    from tapewright.bench.traces.tape_study import study_tape

    bench, entry = asking.bench, certain(asking.bench.book, asking.where, SORT)
    return bench.traces.get(entry.key, lambda folder: study_tape(bench.book, entry, folder))


def _picture(data: bytes) -> Response:
    return Response(data, media_type="image/jpeg", headers={"cache-control": "private, max-age=3600"})


def _number(asking: Asking, name: str, low: int = -1_000_000, high: int = 1_000_000) -> int:
    """Return a whole number of the query.

    Raises:
        InputError: when it is none, or out of reach.
    """
    text = asking.query.get(name, "")
    try:
        value = int(text)
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        raise InputError(
            "the address", place=f"?{name}=", expected=f"a whole number from {low} to {high}", found=repr(text[:40])
        )
    return value


PAGE = Page(
    "tape",
    "/machines/{machine}/tape/{entry}",
    answer,
    "One picture of tape: holes, pitch, tracks, text.",
    menu="Tape",
    module="tape",
    data={"picture": picture, "straight": straight, "hole": hole},
)
