"""What the documents of coil, receiver, speed, supply and sheet show. Marks: common practice, no source.

A swept receiver (the middle of its scale, and the range on either side of it):

    scale   0 . . . low =====|===== high . . . 120
                       below   above

A supply: what 10 per cent of it does to the speed = 10 x slope of ln speed over ln volts. About 10 per cent for a
series motor with little friction, nothing where a governor holds it. Only steps near the wanted speed count: below it
a governor has not cut in.
"""

import math
import statistics
from collections.abc import Iterable, Mapping

from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.measured.fields import (
    Document,
    Figure,
    Rule,
    beyond,
    figure,
    figure_of,
    number,
    tables,
    weighed,
)
from tapewright.advisor.vocabulary import place_in

#: Ratios one meets: mains 50 and 60 Hz exchanged, gears for another speed.
RATIOS = {"6/5": 6 / 5, "5/6": 5 / 6, "50/45.45": 50 / 45.45, "45.45/50": 45.45 / 50, "3/2": 1.5, "2/3": 2 / 3,
          "75/45.45": 75 / 45.45, "45.45/75": 45.45 / 75, "2": 2.0, "1/2": 0.5}  # fmt: skip
#: what mains of 50 and 60 Hz exchanged do
MAINS = ("6/5", "5/6")
RATIO_TOLERANCE_PERCENT, RATIO_FROM_PERCENT = 0.8, 4.0


def ratio_of(finding: str, error: Figure, ratios: Iterable[str] = RATIOS) -> Answer:
    """Return whether a speed error, per cent, is one of these exact ratios within its doubt."""
    ratio = 1.0 + error.value / 100.0
    near = {name: abs(ratio / RATIOS[name] - 1.0) * 100.0 for name in ratios}
    name = min(near, key=lambda each: near[each])
    tolerance = max(RATIO_TOLERANCE_PERCENT, 2.0 * (error.u or 0.0))
    how = f"speed error {error}"
    if abs(error.value) >= RATIO_FROM_PERCENT and near[name] <= tolerance:
        return yes(finding, f"{how}, which is {name}")
    return no(finding, how)


#: How sure it is that the recording's clock is at fault when all other ways agree against it (common practice, no
#: source): the others could share a wrong tooth count.
CLOCK_AT_FAULT = 0.9
LINE = "line"


def off_by_a_ratio(finding: str, document: Document) -> Answer | None:
    """Speed off by an exact ratio."""
    error = figure(document, "error_percent")
    return None if error is None else ratio_of(finding, error)


def off_by_mains(finding: str, document: Document) -> Answer | None:
    """Speed off by the ratio of 50 and 60 Hz mains."""
    error = figure(document, "error_percent")
    return None if error is None else ratio_of(finding, error, MAINS)


def clock_disagrees(finding: str, document: Document) -> Answer | None:
    """The recorded line is the one way that disagrees with the others, which agree with each other."""
    ways = [str(way.get("way")) for way in tables(document, "ways")]
    if LINE not in ways or len(ways) < 2:
        return None
    if document.get("consistent") is True:
        return no(finding, f"the recorded line agrees with {', '.join(way for way in ways if way != LINE)}")
    if document.get("odd_one") == LINE:
        return weighed(finding, CLOCK_AT_FAULT, "the recorded line alone disagrees about the speed")
    return None


#: A time constant of current rise from which on marks come late; spread of the landing.
SLOW_TAU_MS, LANDING_SPREAD_MS = 3.0, 0.7


def rises_slowly(finding: str, document: Document) -> Answer | None:
    """The time constant L/R of the whole circuit is long."""
    tau = figure(document, "tau_ms")
    if tau is None:
        inductance, resistance = figure(document, "inductance_h"), figure(document, "loop_resistance_ohm")
        resistance = resistance or figure(document, "resistance_ohm")
        if inductance is None or resistance is None or resistance.value <= 0:
            return None
        tau = Figure(1e3 * inductance.value / resistance.value, None, "ms")
    return beyond(finding, tau, SLOW_TAU_MS, f"current rises with a time constant of {tau}", above=True)


def did_not_move(finding: str, document: Document) -> Answer | None:
    """No landing in the recorded current."""
    moved = document.get("moved")
    if not isinstance(moved, bool):
        return None
    return no(finding, "the landing shows in the current") if moved else yes(finding, "no landing shows in the current")


def landing_varies(finding: str, document: Document) -> Answer | None:
    """Landing times differ from closure to closure."""
    found = [figure_of(c.get("landing_ms")) for c in tables(document, "closures")]
    times = [f.value for f in found if f is not None]
    if len(times) < 5:
        return None
    spread = statistics.stdev(times)
    seen = Figure(spread, max(spread / (2 * len(times)) ** 0.5, 0.05), "ms")
    return beyond(finding, seen, LANDING_SPREAD_MS, f"landing varies by {seen}", above=True)


#: A margin below this is narrow, per cent of a unit; nearer to an end than this share of the range is near it; one
#: side of the middle shorter than this share of the other has collapsed.
NARROW_PERCENT, NEAR_SHARE, COLLAPSED_SHARE = 30.0, 0.25, 0.5


def speed_is_proven(document: Document) -> bool:
    """Return whether the sweep was made at proven speed: a wrong speed eats one end of the range and hides there."""
    return document.get("speed_proven") is True


def margin_narrow(finding: str, document: Document) -> Answer | None:
    """The margin is small, or no setting reads right."""
    if document.get("state") == "nowhere":
        return yes(finding, "no setting reads right")
    least = number(document.get("margin_at_least_percent"))
    if least is not None:
        return no(finding, f"margin at least {least:.0f} percent") if least >= NARROW_PERCENT else None
    margin = figure(document, "margin_percent")
    how = f"margin {margin} of a unit, swept"
    return None if margin is None else beyond(finding, margin, NARROW_PERCENT, how, above=False)


def near_one_end(finding: str, document: Document) -> Answer | None:
    """The range is wide, and the pointer was found near one end of it."""
    stands, ends, margin = number(document.get("stands_at")), _ends(document), figure(document, "margin_percent")
    if stands is None or ends is None or margin is None or margin.value < NARROW_PERCENT:
        return None
    low, high = ends
    nearest = min(stands - low.value, high.value - stands)
    width = high.value - low.value
    doubt = max(low.u or 0.0, high.u or 0.0) / width
    how = f"the pointer stood at {stands:g}, the range is {low.value:.0f} to {high.value:.0f}"
    return beyond(finding, Figure(nearest / width, doubt, ""), NEAR_SHARE, how, above=False)


def one_end_collapsed(finding: str, document: Document) -> Answer | None:
    """One side of the middle of the scale is much shorter than the other, and the range is not a wide one moved."""
    ends, margin = _ends(document), figure(document, "margin_percent")
    scale = [figure(document, "scale.low"), figure(document, "scale.high")]
    if ends is None or margin is None or scale[0] is None or scale[1] is None or document.get("by") != "scale":
        return None
    low, high = ends
    how = f"the range is {low.value:.0f} to {high.value:.0f}"
    if margin.value >= NARROW_PERCENT:
        return no(finding, how)
    middle = (scale[0].value + scale[1].value) / 2
    sides = sorted((Figure(middle - low.value, low.u, ""), Figure(high.value - middle, high.u, "")),
                   key=lambda side: side.value)  # fmt: skip
    if sides[1].value <= 0:
        return None
    share = max(sides[0].value, 0.0) / sides[1].value
    doubt = ((sides[0].u or 1.0) ** 2 + (share * (sides[1].u or 1.0)) ** 2) ** 0.5 / sides[1].value
    return beyond(finding, Figure(share, doubt, ""), COLLAPSED_SHARE, f"{how}, the middle {middle:g}", above=False)


def _ends(document: Document) -> tuple[Figure, Figure] | None:
    low, high = figure(document, "orientation_low"), figure(document, "orientation_high")
    return None if low is None or high is None or low.value >= high.value else (low, high)


#: Per cent: how near to the wanted speed a step must be; the least change of voltage between two; what warming up
#: between two steps may do; the change of speed by 10 per cent of supply from which on it follows (common practice,
#: no source).
NEAR_PERCENT, LEAST_CHANGE, DRIFT_PERCENT, FOLLOWS_PERCENT = 15.0, 3.0, 0.3, 3.0


def speed_follows(finding: str, document: Document) -> Answer | None:
    """The speed follows the voltage."""
    steps = [(volts, error) for step in tables(document, "steps")
             if (volts := number(step.get("volts"))) and volts > 0
             and (error := figure_of(step.get("error_percent"))) and abs(error.value) <= NEAR_PERCENT]  # fmt: skip
    if len(steps) < 2:
        return None
    (low_v, slow), (high_v, fast) = min(steps, key=lambda s: s[0]), max(steps, key=lambda s: s[0])
    apart = math.log(high_v / low_v)
    if 100 * apart < LEAST_CHANGE:
        return None
    change = math.log((1 + fast.value / 100) / (1 + slow.value / 100))
    doubt = math.hypot(slow.u or DRIFT_PERCENT, fast.u or DRIFT_PERCENT, DRIFT_PERCENT) / 100
    seen = Figure(10 * change / apart, 10 * doubt / apart, "percent")
    return beyond(finding, seen, FOLLOWS_PERCENT, f"10 percent of supply moves the speed by {seen}", above=True)


#: A requirement that parts be alike says nothing about which way one of them is off.
SPREAD = ("alike", " even")


def requirement(finding: str, document: Document, words: list[str], side: str) -> Answer | None:
    """Answer from every requirement whose id or check holds all the words of one of the phrases.

    Outside on the finding's side of the limit: present. Within: absent. Not shown: not examined. A requirement
    judged by eye has no side: outside is present when the finding takes either side.
    """
    verdicts = [entry for entry in tables(document, "requirements") if _about(entry, words)]
    answers = [answer for entry in verdicts if (answer := _judge(finding, entry, side)) is not None]
    present = [answer for answer in answers if answer.state == "present"]
    return present[0] if present else (answers[0] if answers else None)


def _about(entry: Document, words: list[str]) -> bool:
    verdict = entry.get("verdict")
    check = verdict.get("check", "") if isinstance(verdict, Mapping) else ""
    text = f"{entry.get('id', '')} {check} {entry.get('what', '')}".lower().replace("-", " ").replace("_", " ")
    if any(word in text for word in SPREAD):
        return False
    return any(all(word in text for word in phrase.replace("-", " ").split()) for phrase in words)


def _judge(finding: str, entry: Document, side: str) -> Answer | None:
    verdict = entry.get("verdict")
    if not isinstance(verdict, Mapping):
        return None
    value, low, high = number(verdict.get("value")), number(verdict.get("low")), number(verdict.get("high"))
    name = str(verdict.get("check") or entry.get("id"))
    seen = figure_of(dict(verdict))
    how = f"{name}: {seen if seen else 'read'}, {verdict.get('state')}"
    at = place_in(f"{entry.get('id', '')} {name} {entry.get('what', '')}".replace("-", " ").replace("_", " "))
    if verdict.get("state") == "within":
        return no(finding, how)
    if verdict.get("state") != "outside":
        return None
    if value is None:
        return yes(finding, how, at) if side == "either" else None
    is_high = high is not None and value > high
    is_low = low is not None and value < low
    wanted = {"high": is_high, "low": is_low, "either": is_high or is_low}
    return yes(finding, how, at) if wanted.get(side, False) else no(finding, how)


#: kind of document -> its rules by name
RULES: dict[str, dict[str, Rule]] = {
    "speed": {
        "speed off by a ratio": off_by_a_ratio,
        "speed off by mains": off_by_mains,
        "line alone disagrees": clock_disagrees,
    },
    "coil": {
        "current rises slowly": rises_slowly,
        "armature did not move": did_not_move,
        "landing varies": landing_varies,
    },
    "margin": {
        "margin narrow": margin_narrow,
        "pointer near one end": near_one_end,
        "one end collapsed": one_end_collapsed,
    },
    "supply": {"speed follows the supply": speed_follows},
    "sheet": {},
}
