"""The limits a planned drive is judged against: published rules, what the figures themselves demand, the owner's."""

from collections.abc import Mapping, Sequence

from tapewright.coil.document import Duty
from tapewright.coil.drive.drive import Drive, Kind
from tapewright.coil.stream import StreamResult
from tapewright.number import Limit, Reading, Source, Standing, Verdict, judge
from tapewright.reference.contact_protection_note import CONTACT_V, RISE_V_PER_S, smallest_capacitance_f
from tapewright.reference.resistor_derating import USED_FRACTION

#: key in [limits] -> (what is judged, name of the figure, unit, limits both ways)
OWNER_LIMITS: Mapping[str, tuple[str, str, str, bool]] = {
    "added_bias_percent": ("bias added by the drive", "added_bias_percent", "percent", True),
    "contact_v": ("voltage across the opening contact", "peak_v", "V", False),
    "operate_ms": ("operate time", "operate_ms", "ms", False),
    "release_ms": ("release time", "release_ms", "ms", False),
    "resistor_w": ("power in the series resistor", "resistor_w", "W", False),
    "steady_a": ("steady current", "steady_a", "A", False),
}

_FOLLOWS = Limit(
    "elements the armature does not follow", 0.0, 0.0, "elements",
    Source("a magnet that skips elements cannot receive", "", Standing.DERIVED),
)  # fmt: skip


def owner_limit(key: str, value: float, document: str) -> Limit:
    """Make the limit of one key of [limits]."""
    check, _, unit, both_ways = OWNER_LIMITS[key]
    return Limit(check, -value if both_ways else None, value, unit, Source(document, f"limits.{key}", Standing.OWNER))


def judge_plan(
    drive: Drive,
    figures: Mapping[str, Reading],
    stream: StreamResult,
    owner: Sequence[Limit],
    series_rated_w: float | None,
    duty: Duty,
) -> tuple[Verdict, ...]:
    """Judge all that can be judged."""
    by_check = {check: figure for check, figure, _, _ in OWNER_LIMITS.values()}
    verdicts = [judge(figures[by_check[limit.check]], limit) for limit in owner]
    verdicts.append(judge(Reading(float(stream.missed_marks + stream.missed_spaces), 0.0, "elements"), _FOLLOWS))
    if not any(limit.unit == "V" for limit in owner):
        rule = Limit("voltage across the opening contact", None, CONTACT_V.value, "V", CONTACT_V.source)
        verdicts.append(judge(figures["peak_v"], rule))
    verdicts += _rc_rules(drive)
    if drive.supply.limit_a < float("inf"):
        source = Source("the supply's own limit", "supply.limit_a", Standing.OWNER)
        asked = Limit("current asked of the supply", None, drive.supply.limit_a, "A", source)
        verdicts.append(judge(figures["asked_a"], asked))
    if series_rated_w is not None:
        usable_w = series_rated_w * USED_FRACTION.value
        at_hand = Limit("power in the resistor at hand", None, usable_w, "W", USED_FRACTION.source)
        verdicts.append(judge(figures["resistor_w"], at_hand))
    if duty.allowed_fraction is not None:
        limit = Limit(
            "share of time the coil is on in this text", None, duty.allowed_fraction, "1",
            Source("what the coil stands", "coil.max_w or coil.max_c", Standing.OWNER),
        )  # fmt: skip
        verdicts.append(judge(Reading(duty.mark_fraction, 0.0, "1"), limit))
    return tuple(verdicts)


def _rc_rules(drive: Drive) -> list[Verdict]:
    part = drive.suppressor
    if part.kind is not Kind.RC or not part.across_contact:
        return []
    by_voltage, by_rise = smallest_capacitance_f(drive.steady_a, drive.coil.l_h)
    reading = Reading(part.c_f * 1e6, part.c_f * 1e5, "uF", how="capacitors are made to 10 percent")
    return [
        judge(reading, Limit("capacitance by the 300 V rule", by_voltage * 1e6, None, "uF", CONTACT_V.source)),
        judge(reading, Limit("capacitance by the 1 V/us rule", by_rise * 1e6, None, "uF", RISE_V_PER_S.source)),
    ]
