"""Feed a magnet: a plan with what to mind first, its pictures and numbers; the recorded currents of this machine."""

from typing import TYPE_CHECKING

from tapewright.bench.from_book import heading, identity, others
from tapewright.bench.page import Asking, Page
from tapewright.errors import InputError, WrongUseError

if TYPE_CHECKING:
    from tapewright.coil.drive.drive import Drive

#: Fields of the form, as keys of a drive file: (key, label, what stands in it while it is empty).
FIELDS: tuple[tuple[str, str, str], ...] = (
    ("coil.r_ohm", "Coil, ohm", "66"),
    ("coil.l_h", "Coil, henry", "1.7"),
    ("coil.pull_in_a", "Goes in at, ampere", "0.024"),
    ("coil.drop_out_a", "Falls off at, ampere", "0.012"),
    ("supply.volts", "Supply, volt", "48"),
    ("supply.limit_a", "Current limit, ampere", ""),
    ("series.r_ohm", "Resistor in series, ohm", "734"),
    ("line.baud", "Speed, baud", "45.45"),
)
KINDS = {
    "none": "nothing",
    "diode": "a diode",
    "diode+r": "a diode and a resistor",
    "zener": "a zener or TVS",
    "rc": "a resistor and a capacitor",
}
PART_FIELDS: tuple[tuple[str, str, str], ...] = (
    ("suppressor.r_ohm", "Its resistor, ohm", ""),
    ("suppressor.volts", "Its volts", ""),
    ("suppressor.c_f", "Its capacitor, farad", ""),
)
KIND = "suppressor.kind"
FIGURES = {
    "steady_a": "Steady current",
    "operate_ms": "Operates after",
    "release_ms": "Releases after",
    "added_bias_percent": "Adds bias",
    "peak_v": "Opening contact sees",
    "tau_ms": "Time constant",
    "energy_j": "Stored energy",
    "resistor_w": "Resistor turns into heat",
    "fit_w": "Fit a resistor of at least",
}
LONGEST = 40


def answer(asking: Asking) -> dict[str, object]:
    """Return the form as it was filled in, the plan when it was, and the recorded currents."""
    from tapewright.coil.cautions import GENERAL, READ_CAUTIONS

    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    filled = {key: asking.query.get(key, "").strip() for key, _, _ in (*FIELDS, *PART_FIELDS)}
    kind = asking.query.get(KIND, "none")
    document: dict[str, object] = {
        "machine": heading(machine),
        "fields": _form(FIELDS, filled),
        "part_fields": _form(PART_FIELDS, filled),
        "kinds": KINDS,
        "kind": kind if kind in KINDS else "none",
        "cautions": [*READ_CAUTIONS, GENERAL],
        "refused": "",
        "plan": None,
        "wired": "",
        "pictures": None,
        "figures": FIGURES,
        "currents": others(book, machine.key, "coil", None),
    }
    if not filled["line.baud"] and (baud := identity(book, machine.key).get("nominal_baud")):
        filled["line.baud"] = f"{baud:.5g}"
        document["fields"] = _form(FIELDS, filled)
    if KIND not in asking.query:
        return document
    try:
        return document | _plan({key: text for key, text in filled.items() if text}, kind)
    except (InputError, WrongUseError) as refusal:
        return document | {"refused": str(refusal)}


def _form(fields: tuple[tuple[str, str, str], ...], filled: dict[str, str]) -> list[dict[str, str]]:
    return [{"key": key, "label": label, "hint": hint, "value": filled[key]} for key, label, hint in fields]


def _plan(filled: dict[str, str], kind: str) -> dict[str, object]:
    """Return the plan and its pictures.

    Raises:
        InputError: naming the field that cannot be.
    """
    from tapewright.bench.drawn.drive_pictures import drive_pictures
    from tapewright.coil.drive.file import drive_file, plan_drive
    from tapewright.furniture.document import to_builtins

    options: dict[str, object] = {key: _number(key, text) for key, text in filled.items()}
    request, _ = drive_file(None, options | {KIND: kind}, search=False)
    plan, _ = plan_drive(request)
    document = to_builtins(plan.document)
    return {
        "plan": document,
        "pictures": drive_pictures(plan),
        "wired": _wired(plan.request.drive),
        "cautions": document["cautions"],
    }


def _wired(drive: "Drive") -> str:
    """Return how its suppressor is wired, as a drawing of our own making (SVG)."""
    from tapewright.coil.drive.drawing import circuit_picture

    return circuit_picture(drive.suppressor, high_side=drive.high_side)


def _number(key: str, text: str) -> float:
    """Read a figure; a decimal comma will do.

    Raises:
        InputError: when it is none.
    """
    try:
        return float(text.replace(",", "."))
    except ValueError:
        name = next(label for each, label, _ in (*FIELDS, *PART_FIELDS) if each == key)
        raise InputError("the form", place=name, expected="a number", found=repr(text[:LONGEST])) from None


PAGE = Page(
    "drive",
    "/machines/{machine}/drive",
    answer,
    "Plan a magnet's drive; the currents that were recorded.",
    menu="Drive",
)
