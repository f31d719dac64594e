"""What a person may say: of a recorded current (`drive read`), and of a drive (`drive plan`, its file and its form).

A key of a drive file is "section.name", and every key stands here. Ends are what a bench can meet; beyond them a unit
was probably mistaken.
"""

from dataclasses import dataclass

from tapewright.alphabets import ALPHABETS
from tapewright.furniture.kinds import Choice, Number, Text, Whole
from tapewright.furniture.settings import Settings, setting

_OHM, _HENRY, _AMPERE = Number(1e-2, 1e6, "ohm"), Number(1e-5, 1e3, "H"), Number(1e-6, 1e3, "A")
_VOLT, _FARAD, _WATT = Number(1e-2, 1e5, "V"), Number(1e-11, 1.0, "F"), Number(1e-3, 1e6, "W")
_MS, _PERCENT = Number(1e-2, 1e5, "ms"), Number(1e-3, 1e3, "percent")
_NONE_OR_OHM, _NONE_OR_MS, _NONE_OR_VOLT = Number(0, 1e6, "ohm"), Number(0, 1e4, "ms"), Number(0, 1e2, "V")
_CELSIUS = Number(-100.0, 400.0, "degrees Celsius")
#: kind of suppressor -> what a page calls it
KINDS = {"none": "nothing", "diode": "a diode", "diode+r": "a diode and a resistor", "zener": "a zener or TVS with its "
         "blocking diode", "rc": "a resistor and a capacitor"}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class CurrentSettings(Settings):
    """What is known of the loop a current was recorded in, and of its file."""

    shunt: float | None = setting(
        Number(1e-6, 1e6, "ohm"), "Shunt, ohm", None, "The file holds volts across this resistor, ohm."
    )
    supply: float | None = setting(
        Number(1e-3, 1e5, "V"), "Supply, volt", None,
        "Voltage of the supply; without it neither R nor L can be told.",
    )  # fmt: skip
    series_ohm: float = setting(
        Number(0, 1e9, "ohm"), "Other resistance in the loop, ohm", 0.0,
        "Other resistance in the loop that is not the coil.",
    )  # fmt: skip
    scale: float = setting(
        Number(1e-12, 1e12), "One unit of the file, in volts or amperes", 1.0,
        "What one unit of the file is, in volts (or amperes).",
    )  # fmt: skip
    rate: float | None = setting(
        Number(1e-3, 1e12, "Hz"), "Samples per second, where the file does not tell", None,
        "Samples per second, where the file does not tell.",
    )  # fmt: skip
    channel: str | None = setting(Text(200), "Channel", None, "Name or number of the channel.")


@dataclass(frozen=True, kw_only=True)
class DriveOptions(Settings):
    """The keys of a drive that are options of the command; those with a page are fields of the form."""

    coil_ohm: float | None = setting(_OHM, "Coil, ohm", None, "Resistance of the coil.", key="coil.r_ohm", hint="66")
    coil_h: float | None = setting(
        _HENRY, "Coil, henry", None, "Inductance of the coil, henry.", key="coil.l_h", hint="1.7"
    )
    pull_in: float | None = setting(
        _AMPERE, "Goes in at, ampere", None, "Current at which the armature goes in, ampere.", key="coil.pull_in_a",
        hint="0.024",
    )  # fmt: skip
    drop_out: float | None = setting(
        _AMPERE, "Falls off at, ampere", None, "Current at which it falls off, ampere.", key="coil.drop_out_a",
        hint="0.012",
    )  # fmt: skip
    temperature: float | None = setting(
        _CELSIUS, "Temperature, degrees", None, "Temperature of the coil at work, degrees Celsius.",
        key="coil.temperature_c", page=False,
    )  # fmt: skip
    volts: float | None = setting(_VOLT, "Supply, volt", None, "Voltage of the supply.", key="supply.volts", hint="48")
    limit: float | None = setting(
        _AMPERE, "Current limit, ampere", None, "Current limit of the supply, ampere.", key="supply.limit_a"
    )
    series_ohm: float | None = setting(
        _NONE_OR_OHM, "Resistor in series, ohm", None, "Resistor in series.", key="series.r_ohm", hint="734"
    )
    suppressor_ohm: float | None = setting(
        _NONE_OR_OHM, "Its resistor, ohm", None, "Resistance of diode+r or rc.", key="suppressor.r_ohm"
    )
    suppressor_volts: float | None = setting(
        _VOLT, "Its volts", None, "Clamping voltage of a zener or TVS.", key="suppressor.volts"
    )
    suppressor_farad: float | None = setting(
        _FARAD, "Its capacitor, farad", None, "Capacitance of rc, farad.", key="suppressor.c_f"
    )
    unit: float | None = setting(_MS, "Unit, ms", None, "Length of a unit, ms.", key="line.unit_ms", page=False)
    baud: float | None = setting(
        Number(0.1, 1e4, "baud"), "Speed, baud", None, "Modulation rate instead of --unit.", key="line.baud",
        hint="45.45",
    )  # fmt: skip
    stop: float | None = setting(
        Number(1, 100, "units"), "Stop, units", None, "Length of the stop, units.", key="line.stop_units", page=False
    )
    most_bias: float | None = setting(
        _PERCENT, "Most bias, percent", None, "Your limit for the added bias, percent of the unit.",
        key="limits.added_bias_percent", page=False,
    )  # fmt: skip
    most_volts: float | None = setting(
        _VOLT, "Most volts at the contact", None, "Your limit for the voltage across the opening contact.",
        key="limits.contact_v", page=False,
    )  # fmt: skip
    suppressor: str | None = setting(
        Choice(KINDS), "For its energy", None, "What takes the coil's energy.", key="suppressor.kind"
    )
    across: str | None = setting(
        Choice(("coil", "contact")), "Across", None, "Where a zener or rc lies.", key="suppressor.across"
    )
    pair: str | None = setting(
        Choice(("series", "parallel")), "Two coils, wired in", None, "Two such coils, wired so.", key="coil.pair",
        page=False,
    )  # fmt: skip
    text: str | None = setting(Text(), "Text", None, "Text to send through it.", key="line.text", page=False)


@dataclass(frozen=True, kw_only=True)
class DriveKeys(DriveOptions):
    """All keys of a drive file."""

    coil_volts: float | None = setting(_VOLT, "Volts across the coil as measured", None, key="coil.volts")
    coil_amps: float | None = setting(_AMPERE, "Amperes through it", None, key="coil.amps")
    coil_tau_ms: float | None = setting(_MS, "Time constant as measured", None, key="coil.tau_ms")
    coil_tau_series_ohm: float | None = setting(
        _NONE_OR_OHM, "Resistance in series then", None, key="coil.tau_series_ohm"
    )
    coil_coupling: float | None = setting(Number(0, 1), "Coupling of two coils", None, key="coil.coupling")
    coil_at_c: float | None = setting(_CELSIUS, "Temperature its resistance was measured at", None, key="coil.at_c")
    coil_room_c: float | None = setting(_CELSIUS, "Temperature of the room", None, key="coil.room_c")
    coil_travel_ms: float | None = setting(_NONE_OR_MS, "Travel in", None, key="coil.travel_ms")
    coil_return_ms: float | None = setting(_NONE_OR_MS, "Travel out", None, key="coil.return_ms")
    coil_k_per_w: float | None = setting(Number(1e-2, 1e4, "K/W"), "Rise per watt", None, key="coil.k_per_w")
    coil_max_c: float | None = setting(_CELSIUS, "Hottest it may get", None, key="coil.max_c")
    coil_max_w: float | None = setting(_WATT, "Power it stands for ever", None, key="coil.max_w")
    supply_recovery_ms: float | None = setting(_NONE_OR_MS, "Recovery of the supply", None, key="supply.recovery_ms")
    supply_c_out_f: float | None = setting(_FARAD, "Capacitor at its output", None, key="supply.c_out_f")
    series_rated_w: float | None = setting(_WATT, "Rating of the resistor at hand", None, key="series.rated_w")
    switch_side: str | None = setting(Choice(("low", "high")), "Side of the switch", None, key="switch.side")
    switch_breakdown_v: float | None = setting(_VOLT, "Where it breaks down", None, key="switch.breakdown_v")
    suppressor_drop_v: float | None = setting(_NONE_OR_VOLT, "Drop of the diode", None, key="suppressor.drop_v")
    line_alphabet: str | None = setting(Choice(tuple(ALPHABETS)), "Alphabet", None, key="line.alphabet")
    limits_operate_ms: float | None = setting(_MS, "Longest operate time", None, key="limits.operate_ms")
    limits_release_ms: float | None = setting(_MS, "Longest release time", None, key="limits.release_ms")
    limits_resistor_w: float | None = setting(_WATT, "Most heat in the resistor", None, key="limits.resistor_w")
    limits_steady_a: float | None = setting(_AMPERE, "Largest steady current", None, key="limits.steady_a")
    search_bias: float | None = setting(_PERCENT, "Bias looked for", None, key="search.added_bias_percent")
    search_contact_v: float | None = setting(_VOLT, "Volts looked for", None, key="search.contact_v")
    search_ratio: float | None = setting(
        Number(1, 100), "Current over pull-in looked for", None, key="search.least_current_ratio"
    )
    search_from_ohm: float | None = setting(_NONE_OR_OHM, "Resistors from", None, key="search.resistor_from_ohm")
    search_to_ohm: float | None = setting(_OHM, "Resistors to", None, key="search.resistor_to_ohm")
    search_resistors: int | None = setting(Whole(2, 1000), "How many resistors", None, key="search.resistors")
    search_most_w: float | None = setting(_WATT, "Most heat looked for", None, key="search.most_resistor_w")
