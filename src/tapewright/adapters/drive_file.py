"""A drive as the user writes it: TOML sections with a key for each figure, or the same keys from options.

Every figure is a number, or `{ value = 66.0, u = 0.5 }` with its standard uncertainty. What cannot be is refused by
name: which key, what was expected, what was found, what to do.
"""

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapewright.adapters.drive_keys import KEYS, NOT_UNDER, Choice, Figure, Words
from tapewright.app.plan_drive import SearchOrder
from tapewright.core.alphabets import ALPHABETS, encode
from tapewright.core.magnet.drive import (
    DIODE_DROP_V,
    OUTPUT_CAPACITANCE_F,
    Coil,
    Drive,
    Kind,
    Supply,
    Suppressor,
    pair_of,
)
from tapewright.core.magnet.drive_limits import OWNER_LIMITS, owner_limit
from tapewright.core.magnet.plan import Request
from tapewright.core.magnet.search import Wish
from tapewright.core.reference.contact_protection_note import CONTACT_V
from tapewright.core.reference.gas_breakdown import LOWEST_BREAKDOWN_V
from tapewright.errors import InputError

#: every letter and figure, and R and Y in turn (common practice, no source)
DEFAULT_TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890 RYRYRYRY"
MOST_CHARACTERS = 2000
#: a coil and an rc that ring more often than this in one unit are refused: each ring has to be walked through
MOST_RINGS_A_UNIT = 60
#: what a search asks for when the user says nothing: owner's choice
WISHED_BIAS_PERCENT, WISHED_CURRENT_RATIO = 5.0, 1.5


@dataclass(frozen=True, slots=True)
class Sections:
    """A drive file after reading: what each key holds, and the doubts stated.

    Attributes:
        source: the file's name, or "the options".
        values: "section.key" -> number or word.
        doubts: "section.key" -> standard uncertainty.
        given: the sections that are present.
    """

    source: str
    values: Mapping[str, Any]
    doubts: Mapping[str, float]
    given: frozenset[str]

    def number(self, key: str, default: float) -> float:
        """Give a figure or its default."""
        return float(self.values.get(key, default))

    def must(self, key: str, do: str) -> float:
        """Give a figure that has to be there."""
        if key not in self.values:
            raise InputError(self.source, place=f"key '{key}'", expected="a number above zero", found="nothing", do=do)
        return float(self.values[key])

    def optional(self, key: str) -> float | None:
        """Give a figure or None."""
        return float(self.values[key]) if key in self.values else None

    def refuse(self, key: str, expected: str, found: str, do: str) -> InputError:
        """Give the refusal of a figure that cannot be."""
        return InputError(self.source, place=f"key '{key}'", expected=expected, found=found, do=do)


def read_sections(path: Path | None, options: Mapping[str, Any]) -> Sections:
    """Read a drive file and lay the options over it ("coil.r_ohm" -> value).

    Raises:
        InputError: on TOML that cannot be read, an unknown key, or a figure that cannot be.
    """
    tree = _load(path) if path else {}
    source = path.name if path else "the options"
    flat = {f"{section}.{key}": value for section, keys in tree.items() for key, value in keys.items()}
    values: dict[str, Any] = {}
    doubts: dict[str, float] = {}
    for place, value in {**flat, **options}.items():
        section, _, key = place.partition(".")
        values[place] = _checked(source, place, KEYS[section][key], value, doubts)
    return Sections(source, values, doubts, frozenset({*tree, *(place.partition(".")[0] for place in options)}))


def _load(path: Path) -> dict[str, dict[str, Any]]:
    try:
        tree = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        place = f"byte {error.start}"
        raise InputError(path.name, place=place, expected="text in UTF-8", found="other bytes") from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InputError(path.name, expected="a TOML file", found=str(error) or "nesting without end") from None
    for section, keys in tree.items():
        if section not in KEYS:
            known = ", ".join(f"[{name}]" for name in KEYS)
            raise InputError(path.name, place=f"section '{section}'", expected=f"one of {known}", found=section)
        if not isinstance(keys, dict):
            raise InputError(path.name, place=f"key '{section}'", expected=f"a section [{section}]", found=repr(keys))
        for key in keys:
            if key not in KEYS[section]:
                known = ", ".join(KEYS[section])
                raise InputError(path.name, place=f"key '{section}.{key}'", expected=f"one of {known}", found=key)
    return tree


def _checked(source: str, place: str, allowed: Figure | Choice | Words, value: Any, doubts: dict[str, float]) -> Any:
    if isinstance(allowed, Words):
        if not isinstance(value, str):
            raise InputError(source, place=f"key '{place}'", expected="a text", found=repr(value))
        return value
    if isinstance(allowed, Choice):
        if value not in allowed.words:
            expected = f"one of {', '.join(allowed.words)}"
            raise InputError(source, place=f"key '{place}'", expected=expected, found=repr(value))
        return value
    number = value
    if isinstance(value, dict):
        if set(value) != {"value", "u"}:
            raise InputError(source, place=f"key '{place}'", expected="{ value = ..., u = ... }", found=repr(value))
        number = value["value"]
        doubt = _finite(source, f"{place}.u", value["u"], NOT_UNDER)
        doubts[place] = doubt
    return _finite(source, place, number, allowed)


def _finite(source: str, place: str, value: Any, allowed: Figure) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError(source, place=f"key '{place}'", expected=allowed.expected, found=repr(value))
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number) or not allowed.fits(number):
        raise InputError(source, place=f"key '{place}'", expected=allowed.expected, found=f"{number:g}")
    return number


def request_from(sections: Sections) -> Request:
    """Make a request of the sections.

    Raises:
        InputError: names the key whose figure cannot be, alone or with the others.
    """
    drive = _drive(sections)
    _possible(sections, drive)
    _doubts_fit(sections)
    text = str(sections.values.get("line.text", DEFAULT_TEXT))
    limits = tuple(
        owner_limit(key, float(sections.values[f"limits.{key}"]), sections.source)
        for key in OWNER_LIMITS
        if f"limits.{key}" in sections.values
    )
    return Request(
        drive, _unit_s(sections), sections.number("line.stop_units", 1.5), _codes(sections, text), text,
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


def _possible(s: Sections, drive: Drive) -> None:
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
        least_f = (_unit_s(s) / (2 * math.pi * MOST_RINGS_A_UNIT)) ** 2 / coil.l_h
        if part.c_f < least_f:
            raise s.refuse(
                "suppressor.c_f", f"at least {least_f:.2g} F for this coil and unit", f"{part.c_f:g} F",
                f"With less, coil and capacitor ring more than {MOST_RINGS_A_UNIT} times in a unit; the winding's own "
                "capacitance, which is not in this calculation, then counts as much as the part.",
            )  # fmt: skip


def _doubts_fit(s: Sections) -> None:
    for place, doubt in s.doubts.items():
        value = float(s.values[place])
        if doubt and doubt > abs(value) / 3:
            raise s.refuse(f"{place}.u", f"at most a third of the value ({abs(value) / 3:.3g})", f"{doubt:g}", "")


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
    """Give what to search: from [search], or from the limits when `search` is wanted; None when nothing is."""
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
