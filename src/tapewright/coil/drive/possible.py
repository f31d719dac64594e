"""What physics refuses of a drive whose figures are possible one by one: names those that cannot be together."""

import math

from tapewright.coil.drive.drive import Drive, Kind
from tapewright.coil.drive.file_keys import Sections

#: a coil and an rc that ring more often than this in one unit are refused: each ring has to be walked through
MOST_RINGS_A_UNIT = 60


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
        value = float(s.values[place])
        if doubt and doubt > abs(value) / 3:
            raise s.refuse(f"{place}.u", f"at most a third of the value ({abs(value) / 3:.3g})", f"{doubt:g}", "")
