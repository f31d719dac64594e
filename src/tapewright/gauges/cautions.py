"""What to mind before a gauge, a finger or a screwdriver goes in; local codes and licensed practice rule.

The words of the sheet come first: whoever wrote it knows the machine. Where the sheet says nothing these stand.
Common practice, no source.
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # the bench's first page needs the words alone
    from tapewright.gauges.requirement import Requirement
    from tapewright.gauges.trim.problem import Problem

PLUG_OUT = (
    "Mains plug and line plug out, and dead proved with a tester proven on a known source, before a finger or a tool "
    "goes in. Local codes and licensed practice rule"
)
RUNNING = (
    "It turns while you read it: covers on, hair, sleeves and fingers out of it; plug out before each turn of a screw. "
    "Local codes and licensed practice rule"
)
SUPPLY = (
    "A voltage or a current is set under power: from 30 V upwards it can kill, and the machine starts by itself. "
    "Covers on, hands off, insulated supply with its current limited, somebody near who can cut it. Local codes and "
    "licensed practice rule"
)
SPRINGS = "Springs fly: eye protection on, a hand over them"
FORCE = "Stop when a screw binds; never force it"

#: before parts go back
ASSEMBLING = (PLUG_OUT, SPRINGS, "Heavy units: two people or a lift table; fingers clear of what drops in", FORCE)

#: units that only a machine under power, or a running one, has
POWERED_UNITS = frozenset({"V", "mV", "kV", "A", "mA", "W"})
RUNNING_UNITS = frozenset({"rpm", "1/min", "Bd", "baud", "Hz", "ms", "s", "%", "percent", "wpm"})
#: units of a spring's load
LOAD_UNITS = frozenset({"N", "mN", "cN", "gf", "g", "oz", "ozf", "lbf", "kgf"})


def cautions_before(r: "Requirement") -> tuple[str, ...]:
    """Return the cautions of a requirement: its sheet's, else those that go with how it is measured."""
    if r.cautions:
        return r.cautions
    powered = r.powered or r.warm or r.unit in RUNNING_UNITS | POWERED_UNITS
    return tuple(_said(supply=False, running=bool(powered), springs=r.unit in LOAD_UNITS))


def cautions_of_trim(problem: "Problem") -> tuple[str, ...]:
    """Return what to mind before a knob is turned: from the sheet, from the knobs' units and the readings' units."""
    own = [caution for target in problem.targets for caution in target.cautions]
    knobs, readings = {k.unit for k in problem.knobs}, {t.unit for t in problem.targets}
    words = " ".join([k.name for k in problem.knobs] + [t.name for t in problem.targets]).lower()
    always = _said(
        supply=bool(knobs & POWERED_UNITS),
        running=bool(readings & (RUNNING_UNITS | POWERED_UNITS)),
        springs="spring" in words or "tension" in words or bool(readings & LOAD_UNITS),
    )
    return tuple(dict.fromkeys([*own, *always, FORCE]))


def _said(*, supply: bool, running: bool, springs: bool) -> Iterable[str]:
    yield SUPPLY if supply else RUNNING if running else PLUG_OUT
    if supply and running:
        yield RUNNING
    if springs:
        yield SPRINGS
