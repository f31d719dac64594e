"""A request for a plan, and an order to search, from a drive's sections; what physics refuses is refused by name."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from msgspec import structs

from tapewright.alphabets import ALPHABETS, encode
from tapewright.coil.drive.choice import Searched, choose
from tapewright.coil.drive.drive import (
    DIODE_DROP_V,
    OUTPUT_CAPACITANCE_F,
    Coil,
    Drive,
    Kind,
    Supply,
    Suppressor,
    pair_of,
)
from tapewright.coil.drive.drive_limits import OWNER_LIMITS, owner_limit
from tapewright.coil.drive.plan import Plan, Request, plan
from tapewright.coil.drive.search import Wish
from tapewright.coil.drive.sections import Sections, read_sections
from tapewright.reference.contact_protection_note import CONTACT_V
from tapewright.reference.gas_breakdown import LOWEST_BREAKDOWN_V

#: a coil and an rc that ring more often than this in one unit are refused: each ring has to be walked through
MOST_RINGS_A_UNIT = 60


@dataclass(frozen=True, slots=True)
class SearchOrder:
    """What to search.

    Attributes:
        wish: what the drive should do.
        low_ohm: smallest resistor; 0 for a tenth of the coil's own.
        high_ohm: largest; None for what the wished current allows.
        count: how many resistors.
        open_choice: True when the user named no resistor, so that the best choice is the one to plan.
    """

    wish: Wish
    low_ohm: float
    high_ohm: float | None
    count: int
    open_choice: bool


def plan_drive(request: Request, order: SearchOrder | None = None) -> tuple[Plan, Searched | None]:
    """Return the plan of a drive, and the search when one was ordered."""
    if order is None:
        return plan(request), None
    searched = choose(request, order.wish, order.low_ohm, order.high_ohm, order.count)
    if order.open_choice and searched.best is not None:
        request = replace(request, drive=searched.best)
    planned = plan(request)
    return replace(planned, document=structs.replace(planned.document, search=searched.document())), searched


#: every letter and figure, and R and Y in turn (common practice, no source)
DEFAULT_TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890 RYRYRYRY"
MOST_CHARACTERS = 2000
#: what a search asks for when the user says nothing: owner's choice
WISHED_BIAS_PERCENT, WISHED_CURRENT_RATIO = 5.0, 1.5


def request_from(sections: Sections) -> Request:
    """Make a request of the sections.

    Raises:
        InputError: names the key whose figure cannot be, alone or with the others.
    """
    drive = _drive(sections)
    unit_s = _unit_s(sections)
    refuse_impossible(sections, drive, unit_s)
    refuse_wide_doubts(sections)
    text = sections.words.get("line.text", DEFAULT_TEXT)
    limits = tuple(
        owner_limit(key, sections.numbers[f"limits.{key}"], sections.source)
        for key in OWNER_LIMITS
        if f"limits.{key}" in sections.numbers
    )
    return Request(
        drive, unit_s, sections.number("line.stop_units", 1.5), _codes(sections, text), text,
        {name: u for name, u in sections.doubts.items() if not name.startswith(("line", "limits", "search"))},
        limits, sections.number("coil.room_c", 20.0), sections.numbers.get("series.rated_w"),
    )  # fmt: skip


def _drive(s: Sections) -> Drive:
    limit = s.number("supply.limit_a", math.inf)
    supply = Supply(
        s.must("supply.volts", "State the supply's voltage."), limit, s.number("supply.recovery_ms", 0.0) * 1e-3,
        s.number("supply.c_out_f", OUTPUT_CAPACITANCE_F),
    )  # fmt: skip
    kind = Kind(s.words.get("suppressor.kind", "none"))
    part = Suppressor(
        kind, s.number("suppressor.r_ohm", 0.0), s.number("suppressor.volts", 0.0), s.number("suppressor.c_f", 0.0),
        s.number("suppressor.drop_v", DIODE_DROP_V), s.words.get("suppressor.across") == "contact",
    )  # fmt: skip
    _suppressor_complete(s, part)
    breakdown = s.number("switch.breakdown_v", LOWEST_BREAKDOWN_V.value)
    high_side = s.words.get("switch.side", "low") == "high"
    return Drive(_coil(s), supply, s.number("series.r_ohm", 0.0), part, breakdown, high_side)


def _coil(s: Sections) -> Coil:
    r = s.numbers.get("coil.r_ohm")
    if r is None:
        how = "Give coil.r_ohm, or coil.volts and coil.amps as measured with direct current."
        measured = "coil.volts" in s.numbers
        r = s.must("coil.volts", how) / s.must("coil.amps", how) if measured else s.must("coil.r_ohm", how)
    inductance = s.numbers.get("coil.l_h")
    if inductance is None:
        how = "Give coil.l_h, or coil.tau_ms (with coil.tau_series_ohm, the resistance in series when it was measured)."
        tau_ms = s.must("coil.tau_ms", how) if "coil.tau_ms" in s.numbers else s.must("coil.l_h", how)
        inductance = tau_ms * 1e-3 * (r + s.number("coil.tau_series_ohm", 0.0))
    how = "Turn the current up slowly until the armature goes in, then down until it falls off; give both currents."
    coil = Coil(
        r, inductance, s.must("coil.pull_in_a", how), s.must("coil.drop_out_a", how),
        s.number("coil.travel_ms", 0.0) * 1e-3, s.number("coil.return_ms", 0.0) * 1e-3, s.number("coil.at_c", 20.0),
        s.numbers.get("coil.k_per_w"), s.numbers.get("coil.max_c"), s.numbers.get("coil.max_w"),
    )  # fmt: skip
    if "coil.pair" in s.words:
        coil = pair_of(coil, s.words["coil.pair"], s.number("coil.coupling", 1.0))
    return coil.at_temperature(s.number("coil.temperature_c", coil.at_c))


def _suppressor_complete(s: Sections, part: Suppressor) -> None:
    if part.kind is Kind.ZENER:
        s.must("suppressor.volts", "A zener or TVS needs its clamping voltage.")
    if part.kind is Kind.RC:
        s.must("suppressor.c_f", "An rc needs its capacitance in farad, for example 0.1e-6.")
    if part.kind in (Kind.RC, Kind.DIODE_R) and not s.must("suppressor.r_ohm", "Give its resistance.") > 0:
        raise s.refuse("suppressor.r_ohm", "a resistance above zero", "0", "Without it, choose another kind.")
    if part.across_contact and part.kind not in (Kind.ZENER, Kind.RC):
        raise s.refuse(
            "suppressor.across", "coil", "contact", f"A {part.kind.value} across the contact does not take the energy."
        )


def _unit_s(s: Sections) -> float:
    if "line.unit_ms" in s.numbers:
        return s.numbers["line.unit_ms"] * 1e-3
    if "line.baud" in s.numbers:
        return 1.0 / s.numbers["line.baud"]
    raise s.refuse("line.unit_ms", "the unit in milliseconds, or line.baud", "nothing", "For example 22.0 or 20.0.")


def _codes(s: Sections, text: str) -> list[str]:
    if not text or len(text) > MOST_CHARACTERS:
        raise s.refuse("line.text", f"1 to {MOST_CHARACTERS} characters", f"{len(text)}", "")
    try:
        return encode(text, ALPHABETS[s.words.get("line.alphabet", "ita2")])
    except ValueError as error:
        raise s.refuse("line.text", "characters the alphabet has", str(error), "Leave them out.") from None


def refuse_impossible(s: Sections, drive: Drive, unit_s: float) -> None:
    """Refuse what physics refuses, naming both figures."""
    coil, part = drive.coil, drive.suppressor
    if coil.r_ohm <= 0:
        raise s.refuse("coil.temperature_c", "a temperature at which copper still resists", "a colder one", "")
    if coil.drop_out_a >= coil.pull_in_a:
        raise s.refuse(
            "coil.drop_out_a", f"less than pull_in_a ({coil.pull_in_a:g} A)", f"{coil.drop_out_a:g} A",
            "An armature that is in holds with less current than it took to bring it in: measure both again.",
        )  # fmt: skip
    if coil.pull_in_a >= drive.steady_a:
        limited = "the supply's limit" if drive.unlimited_a > drive.supply.limit_a else "V / (R + Rs)"
        raise s.refuse(
            "coil.pull_in_a", f"less than the steady current ({drive.steady_a:.4g} A, {limited})",
            f"{coil.pull_in_a:g} A", "This magnet would never operate: more volts, less resistance or more current.",
        )  # fmt: skip
    clamps = {Kind.NONE: ("switch.breakdown_v", drive.breakdown_v), Kind.ZENER: ("suppressor.volts", part.volts)}
    if part.on_contact and part.kind in clamps and clamps[part.kind][1] <= drive.supply.volts:
        key, volts = clamps[part.kind]
        raise s.refuse(
            key, f"more than the supply ({drive.supply.volts:g} V)", f"{volts:g} V",
            "Below that the open switch would go on conducting for ever.",
        )  # fmt: skip
    if part.kind is Kind.RC:
        least_f = (unit_s / (2 * math.pi * MOST_RINGS_A_UNIT)) ** 2 / coil.l_h
        if part.c_f < least_f:
            raise s.refuse(
                "suppressor.c_f", f"at least {least_f:.2g} F for this coil and unit", f"{part.c_f:g} F",
                f"With less, coil and capacitor ring more than {MOST_RINGS_A_UNIT} times in a unit; the winding's own "
                "capacitance, which is not in this calculation, then counts as much as the part.",
            )  # fmt: skip


def refuse_wide_doubts(s: Sections) -> None:
    """Refuse a doubt so wide that the value says nothing."""
    for place, doubt in s.doubts.items():
        value = s.numbers[place]
        if doubt and doubt > abs(value) / 3:
            raise s.refuse(f"{place}.u", f"at most a third of the value ({abs(value) / 3:.3g})", f"{doubt:g}", "")


def order_from(s: Sections, *, search: bool) -> SearchOrder | None:
    """Return what to search: from [search], or from the limits when `search` is wanted; None when nothing is."""
    if not search and "search" not in s.given:
        return None
    wish = Wish(
        s.number("search.added_bias_percent", s.number("limits.added_bias_percent", WISHED_BIAS_PERCENT)),
        s.number("search.contact_v", s.number("limits.contact_v", CONTACT_V.value)),
        s.number("search.least_current_ratio", WISHED_CURRENT_RATIO),
        s.number("search.most_resistor_w", math.inf),
    )
    low, high = s.number("search.resistor_from_ohm", 0.0), s.numbers.get("search.resistor_to_ohm")
    if high is not None and high <= low:
        raise s.refuse("search.resistor_to_ohm", f"more than resistor_from_ohm ({low:g})", f"{high:g}", "")
    least = wish.current_ratio * s.number("coil.pull_in_a", 0.0)
    if least * request_from(s).drive.coil.r_ohm >= s.number("supply.volts", 0.0):
        raise s.refuse(
            "search.least_current_ratio", "a current the supply can drive through the bare coil",
            f"{wish.current_ratio:g} times the pull-in current", "More volts, or a smaller ratio.",
        )  # fmt: skip
    return SearchOrder(wish, low, high, int(s.number("search.resistors", 100)), "series.r_ohm" not in s.numbers)


def drive_file(
    path: Path | None, options: Mapping[str, object], *, search: bool
) -> tuple[Request, SearchOrder | None]:
    """Read a drive file and the options above it into a request, and what to search."""
    sections = read_sections(path, options)
    return request_from(sections), order_from(sections, search=search)
