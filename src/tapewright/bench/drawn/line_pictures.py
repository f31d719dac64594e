r"""Pictures of the line page: where a receiver may look, the instants by their distortion, two rulers a contact.

Picture (a bar an element, about its middle, per cent of a unit; a ruler with its limit, cloud, mean and doubt):

    1      [==========|=========]
    all      [========|=========]          -40 .. 0 .. 40 %

    contact 3   closes   |////|        0   .:.   |--o--|    |////|     + 1.46 ms  ± 0.07
"""

from collections.abc import Sequence

from tapewright.bench.drawn.axis import Axis
from tapewright.furniture.document import to_builtins
from tapewright.line.document import Character, Contact, Histogram, Line, Range, Receiver
from tapewright.number import Reading, Verdict
from tapewright.number.reading import COVERAGE_FACTOR

REACH = 50.0
SIDES = {"closing": "closes", "opening": "opens"}
#: The axis reaches at least so far, so that a good machine does not look a bad one; and a little past what is on it.
LEAST_REACH_MS, ROOM = 0.5, 1.25
#: Beyond its doubt by this much: as the sentence about the capture has it.
CLEARLY = 2.0
#: The trace opens on so many characters, so many units before the first of them.
OPENS_ON, BEFORE_UNITS = 2, 1.5
FALLBACK_S = 0.5
#: Names of functions that are written as what they do; any other stands in brackets.
AS_IT_IS = {"SP": " ", "LF": "⟨LF⟩\n"}


def receiver_bars(receiver: Receiver | None) -> dict[str, object] | None:
    """Return the bars; None where the nominal speed is not known."""
    if receiver is None:
        return None
    axis = Axis(-REACH, REACH)
    rows = [{"element": e.element} | _bar(f"element {e.element}", e, axis) for e in receiver.per_element]
    rows.append(_bar("all", receiver, axis))
    return {"ticks": axis.ticks(), "zero": axis.place(0), "rows": rows, "window": receiver.window}


def _bar(called: str, reads: Range, axis: Axis) -> dict[str, object]:
    left, right = axis.place(reads.orientation_low), axis.place(reads.orientation_high)
    return {
        "called": called,
        "orientation_low": reads.orientation_low,
        "orientation_high": reads.orientation_high,
        "margin_percent": reads.margin_percent,
        "left": left,
        "width": max(0.0, round(right - left, 3)),
    }


def histogram_bars(histogram: Histogram | None) -> dict[str, object] | None:
    """Return the instants by their distortion as bars; None where there are none."""
    if histogram is None or not histogram.counts:
        return None
    low, step, counts = histogram.from_percent, histogram.step_percent, histogram.counts
    reach = max(abs(low), abs(low + step * len(counts)), 5) + 1
    axis, most = Axis(-reach, reach), max(counts)
    bars = [
        {
            "left": axis.place(low + i * step),
            "width": round(100 * step / (2 * reach), 3),
            "height": round(100 * count / most, 2),
            "from": low + i * step,
            "n": count,
        }
        for i, count in enumerate(counts)
        if count
    ]
    return {"ticks": axis.ticks(), "bars": bars, "most": most, "n": sum(counts)}


def late_of(contact: Contact, side: str) -> Reading:
    """Return how late a contact closes or opens."""
    return contact.closing_late_ms if side == "closing" else contact.opening_late_ms


def rulers(line: Line) -> dict[str, object] | None:
    """Return all rulers on one axis; None where no contact is known."""
    shown = [(contact, side, _limit(contact, side, line.verdicts)) for contact in line.contacts for side in SIDES]
    known = [late for contact, side, _ in shown if (late := late_of(contact, side)).value is not None]
    if not known:
        return None
    ends = [abs(late.value or 0.0) + (late.expanded or 0.0) for late in known]
    ends += [abs(end) for _, _, v in shown if v for end in (v.limit.low, v.limit.high) if end]
    reach = ROOM * max([LEAST_REACH_MS / ROOM, *ends])
    axis = Axis(-reach, reach)
    return {"reach_ms": reach, "ticks": axis.ticks(), "rows": [_row(*each, axis) for each in shown]}


def _limit(contact: Contact, side: str, verdicts: Sequence[Verdict]) -> Verdict | None:
    checks = (f"contact {contact.contact} {side}", "contact lateness")
    return next((v for v in verdicts if v.limit.check in checks), None)


def _row(contact: Contact, side: str, judged: Verdict | None, axis: Axis) -> dict[str, object]:
    late, name = late_of(contact, side), contact.contact
    clear = late.value is not None and late.u is not None and abs(late.value) > CLEARLY * COVERAGE_FACTOR * late.u
    return {
        "contact": name,
        "side": side,
        "does": SIDES[side],
        "called": f"contact {name}" if name.isdecimal() else f"the {name} contact",
        "late": to_builtins(late),
        "way": _way(late),
        "is_off": clear and contact.probability_off > 0.5,
        "seen": list(contact.closing_seen if side == "closing" else contact.opening_seen),
        "why": _why_not(contact, side, late),
        "bounce_ms": to_builtins(contact.bounce_ms) if side == "closing" else None,
        "limit": None if judged is None else to_builtins(judged),
        **_places(late, judged, axis),
    }


def _way(late: Reading) -> str:
    """Return which way; nothing for what is written as 0.00 ms."""
    if late.value is None or not float(str(late).split()[0]):
        return ""
    return "late" if late.value > 0 else "early"


def _why_not(contact: Contact, side: str, late: Reading) -> str:
    """Return why there is no figure. The notes come in the order closing, opening, for those that have none."""
    if late.value is not None or not contact.notes:
        return ""
    return contact.notes[-1] if side == "opening" else contact.notes[0]


def _places(late: Reading, judged: Verdict | None, axis: Axis) -> dict[str, float | None]:
    low, high = (None, None) if judged is None else (judged.limit.low, judged.limit.high)
    spread = late.expanded or 0.0
    at = late.value
    ends = (None, None, None) if at is None else (at, at - spread, at + spread)
    named = zip(("at", "from", "to", "limit_low", "limit_high"), (*ends, low, high), strict=True)
    return {name: None if value is None else axis.place(value) for name, value in named}


def opens_on(line: Line) -> dict[str, float]:
    """Return the stretch the trace opens on: a few characters, the first that shows what is farthest off among them."""
    characters, unit_ms = line.characters, line.speed.unit_ms.value
    if not characters or unit_ms is None:
        return {"from_s": 0.0, "to_s": max(FALLBACK_S, line.source.duration_s)}
    first = max(0, min(_telling(line), len(characters) - OPENS_ON))
    last = characters[min(first + OPENS_ON, len(characters)) - 1]
    unit_s = unit_ms / 1e3
    return {"from_s": characters[first].start_s - BEFORE_UNITS * unit_s, "to_s": last.start_s + 8 * unit_s}


def _telling(line: Line) -> int:
    """Number the first character in which the contact that is farthest off closes after a space."""
    off = [c for c in line.contacts if c.probability_off > 0.5 and c.contact.isdecimal()]
    if not off:
        return 0
    k = int(max(off, key=lambda c: max(abs(late_of(c, side).value or 0.0) for side in SIDES)).contact)
    return next((i for i, c in enumerate(line.characters) if ("0" + c.code)[k - 1 : k + 1] == "01"), 0)


def runs(characters: Sequence[Character]) -> list[dict[str, object]]:
    """Return the text in runs: what is certain together, each doubtful character alone with why and where it is."""
    out: list[dict[str, object]] = []
    certain_so_far = ""
    for number, character in enumerate(characters, start=1):
        name = character.letter_or_figure
        shown = name if len(name) == 1 else AS_IT_IS.get(name, f"⟨{name}⟩")
        if not character.notes:
            certain_so_far += shown
            continue
        out += [{"text": certain_so_far, "doubt": None}] if certain_so_far else []
        certain_so_far = ""
        doubt = "; ".join(character.notes)
        out.append({"text": shown, "doubt": doubt, "number": number, "at_s": character.start_s})
    return [*out, {"text": certain_so_far, "doubt": None}] if certain_so_far else out
