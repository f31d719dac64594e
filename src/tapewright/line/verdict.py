"""Verdicts on a line capture. Without a proven speed there is no timing verdict, and the reason is given."""

from collections.abc import Callable, Iterable

from tapewright.line.document import Bounce, Contact, Distortion, LineSpeed, Receiver
from tapewright.message import Comparison
from tapewright.number import Limit, Reading, Verdict, judge, missing
from tapewright.number.verdict import refuse
from tapewright.reference import army_ss0031, itu_t_s3

#: limits that hold unless the user gives another for the same check
BUILT_IN: tuple[Limit, ...] = (
    itu_t_s3.SPEED_ERROR,
    itu_t_s3.STOP_LENGTH,
    itu_t_s3.GROSS_DISTORTION,
    army_ss0031.TOTAL_DISTORTION,
)

#: what a check needs: the speed alone, the speed against nominal, or nothing
NEEDS_SPEED, NEEDS_NOMINAL, NEEDS_NOTHING = "speed", "nominal", "nothing"

#: check -> unit and what it needs; contact checks are added for every contact. The user's limits name these.
CHECKS: dict[str, tuple[str, str]] = {
    "speed error": ("percent", NEEDS_NOMINAL),
    "unit length": ("ms", NEEDS_SPEED),
    "stop length": ("unit", NEEDS_SPEED),
    "character period": ("ms", NEEDS_NOTHING),
    "ripple": ("percent", NEEDS_SPEED),
    "drift": ("percent", NEEDS_SPEED),
    "gross start-stop distortion": ("percent", NEEDS_NOMINAL),
    "synchronous start-stop distortion": ("percent", NEEDS_SPEED),
    "total distortion": ("percent", NEEDS_NOMINAL),
    "marking bias": ("percent", NEEDS_SPEED),
    "end distortion": ("percent", NEEDS_SPEED),
    "scatter": ("percent", NEEDS_SPEED),
    "receiver margin": ("percent", NEEDS_NOMINAL),
    "error rate": ("percent", NEEDS_NOTHING),
    "longest bounce": ("ms", NEEDS_NOTHING),
    "contact lateness": ("ms", NEEDS_SPEED),
} | {
    f"contact {name} {way}": ("ms", NEEDS_SPEED)
    for name in ("1", "2", "3", "4", "5", "stop")
    for way in ("closing", "opening", "bounce")
}

NO_BOUNCE_SEEN = "no contact is seen to close, or a keyed tone smooths its bounce away"


def judge_line(
    speed: LineSpeed,
    distortion: Distortion,
    contacts: tuple[Contact, ...],
    receiver: Receiver | None,
    errors: Comparison | None,
    own: Iterable[Limit],
) -> tuple[Verdict, ...]:
    """Judge every built-in limit that is not replaced, and every one of the user's own."""
    own = tuple(own)
    named = {limit.check for limit in own}
    limits = [limit for limit in BUILT_IN if limit.check not in named]
    # a stop can only be judged in a stream; characters keyed by hand are no test of it
    limits = [x for x in limits if x is not itu_t_s3.STOP_LENGTH or speed.stop_units.value is not None]
    read = _readings(speed, distortion, contacts, receiver, errors)
    return tuple(_judge(limit, read[limit.check], speed) for limit in [*limits, *own])


def _judge(limit: Limit, reading: Callable[[], Reading], speed: LineSpeed) -> Verdict:
    needs = CHECKS[limit.check][1]
    if needs != NEEDS_NOTHING and not speed.proven:
        return refuse(limit, f"the speed is not proven: {speed.why}")
    if needs == NEEDS_NOMINAL and not speed.nominal_proven:
        return refuse(limit, f"the nominal speed is not known for sure: {speed.why}")
    return judge(reading(), limit)


def _readings(
    speed: LineSpeed,
    distortion: Distortion,
    contacts: tuple[Contact, ...],
    receiver: Receiver | None,
    errors: Comparison | None,
) -> dict[str, Callable[[], Reading]]:
    """Return for every check how to get its reading."""
    table: dict[str, Callable[[], Reading]] = {
        "speed error": lambda: speed.error_percent,
        "unit length": lambda: speed.unit_ms,
        "stop length": lambda: speed.stop_units,
        "character period": lambda: speed.character_ms,
        "ripple": lambda: speed.ripple_percent,
        "drift": lambda: speed.drift_percent,
        "gross start-stop distortion": lambda: distortion.gross_percent,
        "synchronous start-stop distortion": lambda: distortion.synchronous_percent,
        "total distortion": lambda: distortion.gross_percent,
        "marking bias": lambda: distortion.marking_bias_percent,
        "end distortion": lambda: distortion.end_percent,
        "scatter": lambda: distortion.scatter_percent,
        "receiver margin": lambda: _margin(receiver, distortion),
        "error rate": lambda: _rate(errors),
        "longest bounce": lambda: _bounce([c.bounce_ms for c in contacts]),
        "contact lateness": lambda: _worst(contacts),
    }
    by_name = {c.contact: c for c in contacts}
    for name in ("1", "2", "3", "4", "5", "stop"):
        contact = by_name.get(name)
        none = missing("ms", "there is no such contact in this recording")
        table[f"contact {name} closing"] = lambda c=contact, n=none: c.closing_late_ms if c else n  # type: ignore[misc]
        table[f"contact {name} opening"] = lambda c=contact, n=none: c.opening_late_ms if c else n  # type: ignore[misc]
        table[f"contact {name} bounce"] = lambda c=contact: _bounce([c.bounce_ms] if c else [])  # type: ignore[misc]
    return table


def _margin(receiver: Receiver | None, distortion: Distortion) -> Reading:
    if receiver is None:
        return missing("percent", "the nominal speed is not known")
    return Reading(receiver.margin_percent, receiver.margin_u, "percent", distortion.n)


def _bounce(bounces: list[Bounce | None]) -> Reading:
    seen = [b.max for b in bounces if b is not None]
    return Reading(max(seen), 0.0, "ms", len(seen)) if seen else missing("ms", NO_BOUNCE_SEEN)


def _worst(contacts: tuple[Contact, ...]) -> Reading:
    readings = [r for c in contacts for r in (c.closing_late_ms, c.opening_late_ms) if r.value is not None]
    return max(readings, key=lambda r: abs(r.value or 0.0), default=missing("ms", "no contact is seen to move"))


def _rate(errors: Comparison | None) -> Reading:
    """Return the error rate; its doubt reaches to the upper bound at 95 per cent."""
    if errors is None:
        return missing("percent", "what was sent is not known; give it with --expect")
    rate = errors.rate
    if rate.rate is None:
        return missing("percent", "nothing was sent")
    return Reading(100 * rate.rate, 50 * (rate.upper_95 - rate.rate), "percent", rate.n)
