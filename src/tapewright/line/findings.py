r"""What to set first: findings in the order of work, from shapes to parts.

The order is that of the trade (speed before any timing; start before bias before single contacts, common
practice, no source), and the shapes:

    one element, width changed, centre unmoved      gap
    one element, centre moved, width the same       position: follower, lever, bracket
    all closings displaced alike                    bias: common gap, loop, relay, threshold
    closings and openings displaced alike           the start transition itself
    shift growing from element 1 to 5               speed

A tone that is keyed on and off, taken for a line: edges by the thousand at one even distance.
"""

import math

import numpy as np

from tapewright.line.document import Contact, Distortion, Finding, LineSpeed
from tapewright.line.speed_proof import BREAKS_TIME, SENDERS, nearest_class
from tapewright.number import Reading
from tapewright.recordings.capture import RawEdges

#: Part that a finding names when nothing may be set yet.
NEEDED = "recording"
#: A lateness is named when it stands this many standard uncertainties clear of nothing ...
CLEAR = 3.0
#: ... and is at least this share of the unit: less than that nobody can set (common practice, no source).
WORTH_UNITS = 0.01
#: ... and for what all contacts share, which is harder to get at, this share.
WORTH_COMMON_UNITS = 0.02
WORTH_SPEED_PERCENT = 0.2
#: A speed this far out is no matter of trim; another gear or mains frequency is (common practice, no source).
WRONG_GEAR_PERCENT, RATIO_TOLERANCE = 7.0, 0.01
#: General switch tests: mean bounce 1.6 ms; in cam-driven line contacts over 2 to 3 ms is worth chasing (both
#: common practice, no source).
WORTH_BOUNCE_MS = 2.0
#: A governor hunts more slowly than this; what swings faster goes with a turn (common practice, no source).
GOES_WITH_A_TURN_HZ, MAINS_WITHIN_HZ = 6.0, 0.5
#: A gap between two marks shorter than this share of the unit harms no receiver and is left unsaid.
WORTH_SPLIT_UNITS = 0.03


def list_findings(speed: LineSpeed, distortion: Distortion, contacts: tuple[Contact, ...]) -> tuple[Finding, ...]:
    """Return what to do, most urgent first; with the speed unproven only what is needed to prove it."""
    if not speed.proven and speed.unit_ms.value is not None:
        return (Finding(NEEDED, f"the speed is not proven: {speed.why}", _needed(speed)),)
    out: list[Finding] = []
    out += _speed(speed)
    if speed.unit_ms.value is None:
        return tuple(out)
    unit_ms = speed.unit_ms.value
    common = _common(distortion, unit_ms)
    out += common
    late = sorted((c for c in contacts if _is_late(c, unit_ms)), key=lambda c: -_size(c))
    out += [_late(c, unit_ms) for c in late]
    before = dict(zip(contacts[1:], contacts, strict=False))
    out += [f for c in contacts for f in _contact_quality(c, before.get(c), unit_ms)]
    out += _motion(speed, unit_ms)
    return tuple(out)


def _needed(speed: LineSpeed) -> str:
    """Say what would prove the speed."""
    if any(broken in speed.why for broken in BREAKS_TIME):
        return "See to the recorder first, then record again: nothing can be set by these times."
    if SENDERS in speed.why:
        return "Cut the recording there and read each part alone."
    if "as well as" in speed.why:
        return (
            "Give the nominal speed with --nominal, or key other characters: R and Y in turn show nearly all instants."
        )
    return "Record 20 characters or more of one sender, with R and Y among them, before anything is set."


def _speed(speed: LineSpeed) -> list[Finding]:
    error = speed.error_percent
    if not speed.proven or not speed.nominal_proven or not _clear(error, WORTH_SPEED_PERCENT):
        return []
    assert error.value is not None
    slow = error.value < 0
    nominal = f"{speed.nominal_baud:.5g}" if speed.nominal_baud else "nominal"
    what = f"{abs(error.value):.2f} % {'slow' if slow else 'fast'} of {nominal} Bd: the unit is {speed.unit_ms}"
    if abs(error.value) > WRONG_GEAR_PERCENT:
        return [Finding("motor speed or gearing", what, _gearing(error.value, speed))]
    do = "Bring the speed in before anything else is set: "
    do += "on a motor without a governor, raise" if slow else "on a motor without a governor, lower"
    do += " its supply a little; with a governor, set that. Every timing is to be measured again afterwards."
    return [Finding("motor speed", what, do)]


def _gearing(error_percent: float, speed: LineSpeed) -> str:
    """Say what an error too large for any trim comes from."""
    ratio = 1 + error_percent / 100
    for exact, cause in ((5 / 6, "a 60 Hz motor on 50 Hz mains"), (6 / 5, "a 50 Hz motor on 60 Hz mains")):
        if abs(ratio / exact - 1) < RATIO_TOLERANCE:
            return f"That is too much for any trim, and it is the exact ratio of {cause}: look at motor and gears."
    usual, _ = nearest_class(speed.baud.value or 0.0)
    near = f" It is close to the {usual:.5g} Bd class: were gears of that class fitted?" if usual else ""
    return f"That is too much for any trim: count the teeth of the gears, look at motor and mains frequency.{near}"


def _common(distortion: Distortion, unit_ms: float) -> list[Finding]:
    """Start reference, bias and end distortion, each only where it explains more than the one before."""
    worth = 100 * WORTH_COMMON_UNITS
    bias, end, start = distortion.marking_bias_percent, distortion.end_percent, distortion.start_reference_percent
    if _clear(start, worth) and _clear(bias, worth) and _clear(end, worth):
        assert start.value is not None
        early = start.value < 0
        what = f"all instants are {'early' if early else 'late'} by the same {abs(start.value) * unit_ms / 100:.2f} ms"
        do = f"The start transition itself comes {'late' if early else 'early'}: see to the opening of the stop "
        do += "contact before any other. (Bias and end distortion of opposite sense would look the same.)"
        return [Finding("start, opening of the stop contact", what, do)]
    out = []
    if _clear(bias, worth):
        assert bias.value is not None
        kind = "marking" if bias.value > 0 else "spacing"
        what = f"{kind} bias of {_percent(bias)}: every mark begins {'early' if bias.value > 0 else 'late'} by "
        what += f"{abs(bias.value) * unit_ms / 100:.2f} ms"
        do = "Look at what all closings share: common gap, loop current, relay, the recorder's threshold on slow edges."
        out.append(Finding("all contacts, closing", what, do))
    if _clear(end, worth):
        assert end.value is not None
        kind = "marking" if end.value > 0 else "spacing"
        what = f"{kind} end distortion of {_percent(end)}: every mark ends {'late' if end.value > 0 else 'early'} by "
        what += f"{abs(end.value) * unit_ms / 100:.2f} ms"
        do = "Look at what all openings share: arcing, a suppressor or cable that holds the line, contact return."
        out.append(Finding("all contacts, opening", what, do))
    return out


def _late(contact: Contact, unit_ms: float) -> Finding:
    closing, opening = contact.closing_late_ms, contact.opening_late_ms
    says = []
    for reading, verb, seen in (
        (closing, "closes", contact.closing_seen),
        (opening, "opens", contact.opening_seen),
    ):
        if _clear(reading, WORTH_UNITS * unit_ms):
            assert reading.value is not None
            share = 100 * abs(reading.value) / unit_ms
            side = "late" if reading.value > 0 else "early"
            says.append(
                f"{verb} {_magnitude(reading)} {side} ({share:.1f} % of a unit), in {seen[0]} of {seen[1]} characters"
            )
    beside = contact.closes_after_neighbour_ms
    if contact.contact.isdigit() and _clear(closing, WORTH_UNITS * unit_ms) and _clear(beside, WORTH_UNITS * unit_ms):
        way = "later" if (beside.value or 0.0) > 0 else "earlier"
        says[0] += f", {_magnitude(beside)} {way} than the contact before it"
    return Finding(f"contact {contact.contact}", " and ".join(says), _remedy(contact, unit_ms))


def _remedy(contact: Contact, unit_ms: float) -> str:
    a, b = contact.closing_late_ms.value, contact.opening_late_ms.value
    name = f"contact {contact.contact}"
    worth = WORTH_UNITS * unit_ms
    if a is None or b is None:
        return f"Reset {name}: its gap first, then look at its follower."
    if abs(a - b) < max(worth, 0.3 * max(abs(a), abs(b))):
        return f"The mark is displaced but keeps its width: see to follower, lever or bracket of {name}, not its gap."
    if a > worth and b < -worth:
        return f"The mark is short at both ends: the gap of {name} is too wide."
    if a < -worth and b > worth:
        return f"The mark is long at both ends: the gap of {name} is too narrow."
    return f"Reset {name}: its gap first, then look at its follower; width and place of the mark are both out."


def _contact_quality(contact: Contact, before: Contact | None, unit_ms: float) -> list[Finding]:
    out = []
    name = f"contact {contact.contact}"
    if contact.bounce_ms is not None and contact.bounce_ms.median >= WORTH_BOUNCE_MS:
        what = f"bounces for {contact.bounce_ms.median:.2f} ms as a rule, {contact.bounce_ms.max:.2f} ms at most"
        out.append(Finding(name, what, "Look at its pressure and its backstop."))
    if contact.dropouts:
        times = f"{contact.dropouts} time" + ("s" if contact.dropouts != 1 else "")
        out.append(Finding(name, f"drops out {times} inside its mark", "Clean it; then look at its pressure."))
    said = _splits(before, unit_ms) or _late_to_close(contact, unit_ms)
    if not said and contact.splits.median_ms is not None and contact.splits.median_ms >= WORTH_SPLIT_UNITS * unit_ms:
        what = "the mark before it breaks off or bounces before its own is there: "
        marks = "1 split mark" if contact.splits.n == 1 else f"{contact.splits.n} split marks"
        what += f"{marks}, {contact.splits.median_ms:.2f} ms"
        out.append(Finding(name, what, "Of two marks in a row one closes too late or the other opens too early."))
    return out


def _moves_units(percent: float, hz: float, unit_ms: float) -> float:
    """Return farthest a swing of the speed can move an instant, in units: over a character, or over half a swing."""
    longest_ms = min(6 * unit_ms, 1e3 * 2 / (2 * math.pi * hz))
    return percent / 100 * longest_ms / unit_ms


def _swing(hz: float) -> str:
    """Say what swings so fast."""
    if hz < GOES_WITH_A_TURN_HZ:
        return "Slow swings are a governor hunting; clean and set its contact."
    do = f"That goes with something that turns {60 * hz:.0f} times a minute: compare the motor and each shaft. "
    do += "Look for a bent shaft, a pinion out of true, a worn bearing, a governor contact that strikes once a turn."
    if any(abs(hz - mains) < MAINS_WITHIN_HZ for mains in (50.0, 60.0)):
        do += " It is the frequency of the mains too: hum in the recording moves instants as well; look there first."
    return do


def _splits(before: Contact | None, unit_ms: float) -> bool:
    """Return whether the contact before opens so early that its mark splits from the next: that is said then."""
    early = None if before is None else before.opening_late_ms
    return early is not None and _clear(early, WORTH_UNITS * unit_ms) and (early.value or 0.0) < 0


def _late_to_close(contact: Contact, unit_ms: float) -> bool:
    late = contact.closing_late_ms
    return _clear(late, WORTH_UNITS * unit_ms) and (late.value or 0.0) > 0


def _motion(speed: LineSpeed, unit_ms: float) -> list[Finding]:
    out = []
    share, hz = speed.ripple_percent.value, speed.ripple_hz.value
    if share is not None and hz is not None and _moves_units(share, hz, unit_ms) >= WORTH_UNITS:
        what = f"the speed swings by {_percent(speed.ripple_percent)} at {hz:.2f} Hz, which moves instants by up to "
        what += f"{100 * _moves_units(share, hz, unit_ms):.1f} % of a unit"
        out.append(Finding("governor or drive", what, _swing(hz)))
    if _clear(speed.drift_percent, WORTH_SPEED_PERCENT):
        assert speed.drift_percent.value is not None
        way = "rises" if speed.drift_percent.value > 0 else "falls"
        what = f"the speed {way} by {_percent(speed.drift_percent)} over the recording"
        do = "Let it run warm, then record again; look for a dry bearing or a slipping belt."
        out.append(Finding("motor speed", what, do))
    return out


def _is_late(contact: Contact, unit_ms: float) -> bool:
    return any(_clear(r, WORTH_UNITS * unit_ms) for r in (contact.closing_late_ms, contact.opening_late_ms))


def _size(contact: Contact) -> float:
    return max(abs(r.value or 0.0) for r in (contact.closing_late_ms, contact.opening_late_ms))


def _clear(reading: Reading, worth: float) -> bool:
    """Return whether a reading stands clear of nothing and is large enough to be worth setting."""
    if reading.value is None or reading.u is None:
        return False
    return abs(reading.value) >= max(CLEAR * reading.u, worth)


def _percent(reading: Reading) -> str:
    return f"{_magnitude(reading)}".replace(" percent", " %")


def _magnitude(reading: Reading) -> str:
    return str(Reading(abs(reading.value or 0.0), reading.u, reading.unit))


#: fewer edges show no tone; below this it could be a line, Hz; how even the periods are and how many of them (our own
#: choice: a keyed tone has all but a few alike, a line has five lengths and more)
FEWEST_EDGES, LOWEST_HZ, EVEN, MOST_ALIKE = 100, 250.0, 0.1, 0.8


def tone_hz(edges: RawEdges) -> float | None:
    """Return the frequency of a keyed tone; None when these edges are none.

    A period is measured from an edge to the next but one, so that a threshold off the middle does not matter.
    """
    if edges.times_s.size < FEWEST_EDGES:
        return None
    periods = edges.times_s[2:] - edges.times_s[:-2]
    usual = float(np.median(periods))
    if usual <= 0.0 or 1 / usual < LOWEST_HZ:
        return None
    alike = float(np.mean(np.abs(periods - usual) <= EVEN * usual))
    return 1 / usual if alike >= MOST_ALIKE else None
