"""A request for a plan, and an order to search, from a drive's sections.

Plan a magnet's drive: search resistor and suppressor where asked, compute what the drive will do.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

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
from tapewright.coil.drive.file_keys import Sections, read_sections
from tapewright.coil.drive.plan import Plan, Request, plan
from tapewright.coil.drive.possible import refuse_impossible, refuse_wide_doubts
from tapewright.coil.drive.search import Wish
from tapewright.reference.contact_protection_note import CONTACT_V
from tapewright.reference.gas_breakdown import LOWEST_BREAKDOWN_V


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
    if order.open_choice and searched.choices:
        request = replace(request, drive=searched.choices[0].drive)
    return plan(request), searched


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
    text = str(sections.values.get("line.text", DEFAULT_TEXT))
    limits = tuple(
        owner_limit(key, float(sections.values[f"limits.{key}"]), sections.source)
        for key in OWNER_LIMITS
        if f"limits.{key}" in sections.values
    )
    return Request(
        drive, unit_s, sections.number("line.stop_units", 1.5), _codes(sections, text), text,
        {name: u for name, u in sections.doubts.items() if not name.startswith(("line", "limits", "search"))},
        limits, sections.number("coil.room_c", 20.0), sections.optional("series.rated_w"),
    )  # fmt: skip


def _drive(s: Sections) -> Drive:
    limit = s.number("supply.limit_a", math.inf)
    supply = Supply(
        s.must("supply.volts", "State the supply's voltage."), limit, s.number("supply.recovery_ms", 0.0) * 1e-3,
        s.number("supply.c_out_f", OUTPUT_CAPACITANCE_F),
    )  # fmt: skip
    kind = Kind(s.values.get("suppressor.kind", "none"))
    part = Suppressor(
        kind, s.number("suppressor.r_ohm", 0.0), s.number("suppressor.volts", 0.0), s.number("suppressor.c_f", 0.0),
        s.number("suppressor.drop_v", DIODE_DROP_V), s.values.get("suppressor.across") == "contact",
    )  # fmt: skip
    _suppressor_complete(s, part)
    breakdown = s.number("switch.breakdown_v", LOWEST_BREAKDOWN_V.value)
    high_side = s.values.get("switch.side", "low") == "high"
    return Drive(_coil(s), supply, s.number("series.r_ohm", 0.0), part, breakdown, high_side)


def _coil(s: Sections) -> Coil:
    r = s.optional("coil.r_ohm")
    if r is None:
        how = "Give coil.r_ohm, or coil.volts and coil.amps as measured with direct current."
        measured = "coil.volts" in s.values
        r = s.must("coil.volts", how) / s.must("coil.amps", how) if measured else s.must("coil.r_ohm", how)
    inductance = s.optional("coil.l_h")
    if inductance is None:
        how = "Give coil.l_h, or coil.tau_ms (with coil.tau_series_ohm, the resistance in series when it was measured)."
        tau_ms = s.must("coil.tau_ms", how) if "coil.tau_ms" in s.values else s.must("coil.l_h", how)
        inductance = tau_ms * 1e-3 * (r + s.number("coil.tau_series_ohm", 0.0))
    how = "Turn the current up slowly until the armature goes in, then down until it falls off; give both currents."
    coil = Coil(
        r, inductance, s.must("coil.pull_in_a", how), s.must("coil.drop_out_a", how),
        s.number("coil.travel_ms", 0.0) * 1e-3, s.number("coil.return_ms", 0.0) * 1e-3, s.number("coil.at_c", 20.0),
        s.optional("coil.k_per_w"), s.optional("coil.max_c"), s.optional("coil.max_w"),
    )  # fmt: skip
    if "coil.pair" in s.values:
        coil = pair_of(coil, s.values["coil.pair"], s.number("coil.coupling", 1.0))
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
    if "line.unit_ms" in s.values:
        return float(s.values["line.unit_ms"]) * 1e-3
    if "line.baud" in s.values:
        return 1.0 / float(s.values["line.baud"])
    raise s.refuse("line.unit_ms", "the unit in milliseconds, or line.baud", "nothing", "For example 22.0 or 20.0.")


def _codes(s: Sections, text: str) -> list[str]:
    if not text or len(text) > MOST_CHARACTERS:
        raise s.refuse("line.text", f"1 to {MOST_CHARACTERS} characters", f"{len(text)}", "")
    try:
        return encode(text, ALPHABETS[s.values.get("line.alphabet", "ita2")])
    except ValueError as error:
        raise s.refuse("line.text", "characters the alphabet has", str(error), "Leave them out.") from None


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
    low, high = s.number("search.resistor_from_ohm", 0.0), s.optional("search.resistor_to_ohm")
    if high is not None and high <= low:
        raise s.refuse("search.resistor_to_ohm", f"more than resistor_from_ohm ({low:g})", f"{high:g}", "")
    least = wish.current_ratio * s.number("coil.pull_in_a", 0.0)
    if least * request_from(s).drive.coil.r_ohm >= s.number("supply.volts", 0.0):
        raise s.refuse(
            "search.least_current_ratio", "a current the supply can drive through the bare coil",
            f"{wish.current_ratio:g} times the pull-in current", "More volts, or a smaller ratio.",
        )  # fmt: skip
    return SearchOrder(wish, low, high, int(s.number("search.resistors", 100)), "series.r_ohm" not in s.values)


def drive_file(
    path: Path | None, options: Mapping[str, Any], *, search: bool
) -> tuple[Request, SearchOrder | None]:
    """Read a drive file and the options above it into a request, and what to search."""
    sections = read_sections(path, options)
    return request_from(sections), order_from(sections, search=search)
