"""The keys of a drive file: which there are, and what each may hold. To add a figure, add a key here."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tapewright.core.alphabets import ALPHABETS
from tapewright.core.magnet.drive import Kind


@dataclass(frozen=True, slots=True)
class Figure:
    """What a key may hold: a test, and its words."""

    fits: Callable[[float], bool]
    expected: str


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few words."""

    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Words:
    """Any text."""




def _between(low: float, high: float, unit: str) -> Figure:
    """Allow what a bench can meet; beyond it, a unit was probably mistaken."""
    return Figure(lambda x: low <= x <= high, f"a number from {low:g} to {high:g} {unit}")


def _none_to(high: float, unit: str) -> Figure:
    return Figure(lambda x: 0 <= x <= high, f"a number from 0 to {high:g} {unit}")


_OHM, _HENRY, _AMPERE = _between(1e-2, 1e6, "ohm"), _between(1e-5, 1e3, "H"), _between(1e-6, 1e3, "A")
_VOLT, _FARAD, _WATT = _between(1e-2, 1e5, "V"), _between(1e-11, 1.0, "F"), _between(1e-3, 1e6, "W")
_MS, _PERCENT = _between(1e-2, 1e5, "ms"), _between(1e-3, 1e3, "percent")
_NONE_OR_OHM, _NONE_OR_MS, _NONE_OR_VOLT = _none_to(1e6, "ohm"), _none_to(1e4, "ms"), _none_to(1e2, "V")
_CELSIUS = _between(-100.0, 400.0, "degrees Celsius")
NOT_UNDER = Figure(lambda x: x >= 0, "a number that is not negative")
_SHARE = Figure(lambda x: 0 <= x <= 1, "a number from 0 to 1")
_STOP = Figure(lambda x: 1 <= x <= 100, "a stop of 1 to 100 units")
_SEARCH_COUNT = Figure(lambda x: 2 <= x <= 1000 and x == int(x), "a whole number from 2 to 1000")

KEYS: Mapping[str, Mapping[str, Figure | Choice | Words]] = {
    "coil": {
        "r_ohm": _OHM, "l_h": _HENRY, "pull_in_a": _AMPERE, "drop_out_a": _AMPERE,
        "volts": _VOLT, "amps": _AMPERE, "tau_ms": _MS, "tau_series_ohm": _NONE_OR_OHM,
        "pair": Choice(("series", "parallel")), "coupling": _SHARE,
        "at_c": _CELSIUS, "temperature_c": _CELSIUS, "room_c": _CELSIUS,
        "travel_ms": _NONE_OR_MS, "return_ms": _NONE_OR_MS,
        "k_per_w": _between(1e-2, 1e4, "K/W"), "max_c": _CELSIUS, "max_w": _WATT,
    },
    "supply": {"volts": _VOLT, "limit_a": _AMPERE, "recovery_ms": _NONE_OR_MS, "c_out_f": _FARAD},
    "series": {"r_ohm": _NONE_OR_OHM, "rated_w": _WATT},
    "switch": {"side": Choice(("low", "high")), "breakdown_v": _VOLT},
    "suppressor": {
        "kind": Choice(tuple(kind.value for kind in Kind)), "r_ohm": _NONE_OR_OHM, "volts": _VOLT, "c_f": _FARAD,
        "drop_v": _NONE_OR_VOLT, "across": Choice(("coil", "contact")),
    },
    "line": {
        "unit_ms": _MS, "baud": _between(0.1, 1e4, "baud"), "stop_units": _STOP, "text": Words(),
        "alphabet": Choice(tuple(ALPHABETS)),
    },
    "limits": {
        "added_bias_percent": _PERCENT, "contact_v": _VOLT, "operate_ms": _MS, "release_ms": _MS,
        "resistor_w": _WATT, "steady_a": _AMPERE,
    },
    "search": {
        "added_bias_percent": _PERCENT, "contact_v": _VOLT, "least_current_ratio": _between(1.0, 100.0, ""),
        "resistor_from_ohm": _NONE_OR_OHM, "resistor_to_ohm": _OHM, "resistors": _SEARCH_COUNT,
        "most_resistor_w": _WATT,
    },
}  # fmt: skip
