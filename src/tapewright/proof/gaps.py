"""What was not tested: worked out from what is on record, never written by hand, never empty by neglect.

Four questions are asked of every machine, and each gives its own lines:

    of the plan          which tests are not done, or only in part?
    of the sheet         which requirements have no reading as left?
    of the evidence      which sorts of evidence are missing altogether, which conditions are not on record?
    of the span          what lies beyond the temperatures, supply, speeds and times that were tried?

The last always has an answer: nothing was tried for ever, so the list is never empty.
"""

from collections.abc import Sequence

from tapewright.book.entry import Entry
from tapewright.proof.document import Answer, Gap, Plan, PlannedTest, Soak
from tapewright.proof.lines import Evidence, of_kind

MOST_NAMED = 12

#: sort of evidence -> (what is missing without it, what to do)
WITHOUT: dict[str, tuple[str, str]] = {
    "line": ("The line signal: speed, timing of the contacts, text as sent", "record the line; tapewright line read"),
    "tape": ("The tape: holes, feed, tracks", "scan a tape; tapewright tape read"),
    "gauge": ("The gauges: no requirement of a sheet was measured", "enter its sheet; tapewright sheet enter"),
    "coil": ("The magnet's current: whether and when the armature moves", "record the current; tapewright drive read"),
    "margin": ("The receiver's margin: how far its orientation can be turned", "sweep it; tapewright line margin"),
    "observation": ("What eye, ear and finger notice", "write down what is seen and heard with the machine at work"),
}


def gaps_of(
    plan: Plan, answers: Sequence[Answer], now: Sequence[Evidence], soaks: Sequence[Soak], lines: Sequence[Entry]
) -> tuple[Gap, ...]:
    """Return everything that was not tested, in the order of the four questions."""
    return (*_of_plan(plan), *_of_sheet(answers), *_of_evidence(now, soaks, lines), *_of_span(plan, now, soaks))


def _of_plan(plan: Plan) -> list[Gap]:
    return [_gap_of(test) for test in plan.tests if test.done != "done"]


def _gap_of(test: PlannedTest) -> Gap:
    why = f"{test.have:,} of {test.want:,} {test.unit} are on record" if test.have else "nothing on record"
    by_hand = f"{test.characters} characters by hand: {test.setting}"
    do = test.command or (test.check if test.test != "hand-keyed" else by_hand)
    return Gap(f"{test.what}: {test.shows}", why, do)


def _of_sheet(answers: Sequence[Answer]) -> list[Gap]:
    unread = [answer for answer in answers if answer.id and not answer.reading]
    stations = list(dict.fromkeys(answer.group for answer in unread))
    return [_station(station, [a for a in unread if a.group == station]) for station in stations]


def _station(station: str, unread: Sequence[Answer]) -> Gap:
    named = ", ".join(answer.id or "" for answer in unread[:MOST_NAMED])
    more = f" and {len(unread) - MOST_NAMED} more" if len(unread) > MOST_NAMED else ""
    what = f"{len(unread)} requirement{'s' if len(unread) > 1 else ''} at {station}: {named}{more}"
    return Gap(what, "no reading as left", "measure with the bench form; tapewright sheet enter")


def _of_evidence(now: Sequence[Evidence], soaks: Sequence[Soak], lines: Sequence[Entry]) -> list[Gap]:
    have = {evidence.sort for evidence in now}
    out = [
        Gap(what, "no such evidence of the machine as it now is", do)
        for sort, (what, do) in WITHOUT.items()
        if sort not in have
    ]
    if not soaks:
        out.append(Gap("A long run", "no soak is on record since the last change", "let it run under watch"))
    if not of_kind(lines, "electrical check"):
        out.append(
            Gap(
                "The machine dead: insulation, earth, windings",
                "no electrical check is on record",
                "by somebody licensed for it, before power; local codes rule",
            )
        )
    uncompared = [e for e in now if e.sort in ("line", "tape") and not _compared(e)]
    if uncompared:
        lines_ = ", ".join(str(e.entry.number) for e in uncompared[:MOST_NAMED])
        out.append(
            Gap(
                f"Text against what was sent, in line {lines_} of the book",
                "what was sent is not on record, so wrong characters were not counted",
                "read again with --expect",
            )
        )
    return out


def _compared(evidence: Evidence) -> bool:
    strips = evidence.result.get("strips")
    parts = [evidence.result, *(strips if isinstance(strips, list) else [])]
    return any(isinstance(part, dict) and isinstance(part.get("errors"), dict) for part in parts)


def _of_span(plan: Plan, now: Sequence[Evidence], soaks: Sequence[Soak]) -> list[Gap]:
    """Say what lies beyond what was tried."""
    degrees = [e.conditions.temperature_c for e in now if e.conditions.temperature_c is not None]
    minutes = [e.conditions.running_minutes for e in now if e.conditions.running_minutes is not None]
    minutes += [soak.minutes for soak in soaks if soak.minutes is not None]
    supply = [e.conditions.supply_percent for e in now if e.conditions.supply_percent is not None]
    supply += [soak.supply_percent for soak in soaks if soak.supply_percent is not None]
    out = [
        _beyond("Other room temperatures", "°C", degrees, "room temperature"),
        _beyond("Longer runs", "minutes of running", [max(minutes)] if minutes else [], "time it had been running"),
        _beyond("Other supply voltages", "% off nominal", supply, "supply voltage"),
    ]
    out.append(
        Gap(
            f"Other speeds than {plan.baud:.5g} Bd, other loops and other machines at the far end",
            "only this machine on this loop was measured",
            "",
        )
    )
    out.append(
        Gap(
            "Days to come: wear, oil, dust, a screw that works loose",
            "every measurement ends with its last one",
            "measure again after some months of use",
        )
    )
    return out


def _beyond(what: str, unit: str, tried: Sequence[float], name: str) -> Gap:
    if not tried:
        return Gap(what, f"the {name} is not on record", "write it down with every measurement")
    low, high = min(tried), max(tried)
    span = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return Gap(what, f"tried at {span} {unit} alone", "")
