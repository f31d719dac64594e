"""A plan in words, cautions first."""

from collections.abc import Iterator

from tapewright.adapters.reports.verdict_text import verdicts_text
from tapewright.core.magnet.compare import WHY
from tapewright.core.magnet.plan import Plan
from tapewright.core.magnet.stream import Spread

WIDTH = 100


def plan_text(plan: Plan) -> str:
    """Give the report."""
    return "\n".join([*_cautions(plan), *_circuit(plan), *_times(plan), *_text(plan), *_power(plan), *_compare(plan),
                      "\nVerdicts", *verdicts_text(plan.verdicts)])  # fmt: skip


def wrapped(text: str, first: str = "  ", rest: str = "    ") -> str:
    """Break a sentence into lines."""
    lines, line = [], first
    for word in text.split():
        if len(line) + len(word) > WIDTH and line.strip():
            lines.append(line.rstrip())
            line = rest
        line += word + " "
    return "\n".join([*lines, line.rstrip()])


def _cautions(plan: Plan) -> Iterator[str]:
    yield "Before anything is switched on"
    for caution in plan.cautions:
        yield wrapped("- " + caution)


def _circuit(plan: Plan) -> Iterator[str]:
    drive, f = plan.request.drive, plan.figures
    yield "\nThe drive"
    limit = f", limit {drive.supply.limit_a:g} A" if drive.supply.limit_a < float("inf") else ""
    yield (
        f"  {drive.supply.volts:g} V{limit}, {drive.series_ohm:.4g} ohm in series, coil {drive.coil.r_ohm:.4g} ohm at "
        f"{drive.coil.at_c:g} degrees and {drive.coil.l_h:.4g} H, {drive.suppressor},"
    )
    yield f"  switch on the {'high' if drive.high_side else 'low'} side."
    yield f"  Steady current   {f['steady_a'].scaled(1e3, 'mA')}"
    yield f"  Time constant    {f['tau_ms']}"
    yield f"  Stored energy    {f['energy_j'].scaled(1e3, 'mJ')}"
    yield f"  Contact sees     {f['peak_v']} on opening"


def _times(plan: Plan) -> Iterator[str]:
    f = plan.figures
    travel = plan.request.drive.coil.travel_s or plan.request.drive.coil.return_s
    yield "\nThe armature, " + ("its travel included" if travel else "its travel not included")
    yield f"  Operates after   {f['operate_ms']}"
    yield f"  Releases after   {f['release_ms']}"
    bias = f["added_bias_percent"]
    kind = "" if bias.value is None else " (marking: marks grow)" if bias.value > 0 else " (spacing: marks shrink)"
    yield f"  Adds bias        {bias} of a {plan.request.unit_s * 1e3:g} ms unit{kind}"


def _text(plan: Plan) -> Iterator[str]:
    stream = plan.stream
    yield f"\nReal characters ({len(plan.request.codes)} codes at {1 / stream.unit_s:.4g} baud)"
    missed = stream.missed_marks + stream.missed_spaces
    if missed:
        yield wrapped(
            f"The armature misses {stream.missed_marks} marks and {stream.missed_spaces} spaces: with this drive the "
            "machine cannot receive the text."
        )
        return
    bias, worst = stream.bias_s or 0.0, stream.worst_s or 0.0
    yield f"  Every element is followed; mean bias {bias * 1e3:+z.2f} ms ({bias / stream.unit_s * 100:+z.1f} %),"
    yield f"  largest displacement against the start {worst * 1e3:.2f} ms ({worst / stream.unit_s * 100:.1f} %)."
    marks, spaces = stream.isolated(marks=True), stream.isolated(marks=False)
    yield f"  Marks of one unit grow by {_span(marks)}; spaces by {_span(spaces)}."
    yield "  element   begins late          ends late            mark alone grows"
    for e in stream.per_element():
        yield f"  {e.element}         {_span(e.begins_late):<20} {_span(e.ends_late):<20} {_span(e.mark_longer)}"


def _span(spread: Spread) -> str:
    if spread.mean is None or spread.low is None or spread.high is None:
        return "none"
    if spread.high - spread.low < 5e-6:
        return f"{spread.mean * 1e3:+z.2f} ms"
    return f"{spread.low * 1e3:+z.2f} to {spread.high * 1e3:+z.2f} ms"


def _power(plan: Plan) -> Iterator[str]:
    heat = plan.heat
    yield "\nHeat              held in mark   peak      mean over the text"
    for name, power in (("supply", heat.supply), ("coil", heat.coil), ("series resistor", heat.resistor)):
        yield f"  {name:<16}{power.held_w:8.3g} W  {power.peak_w:8.3g} W  {power.mean_w:8.3g} W"
    if plan.request.drive.series_ohm:
        sold = f", sold as {heat.sold_w:g} W" if heat.sold_w else ", more than one resistor carries: share it out"
        yield f"  Fit a resistor of at least {heat.fit_w:.3g} W{sold}."
    duty = plan.duty
    allowed = "not shown" if duty.allowed_fraction is None else f"{duty.allowed_fraction * 100:.0f} % of the time"
    yield f"  The text has the coil on {duty.mark_fraction * 100:.0f} % of the time."
    yield wrapped(f"May be on: {allowed} ({duty.why}).")
    if duty.hot_c is not None:
        yield f"  Held for ever the coil settles near {duty.hot_c:.0f} degrees Celsius."
    if heat.break_j > 1e-9:
        yield f"  The contact and what lies across it take {heat.break_j * 1e3:.3g} mJ at each break."
    if plan.contact_peak_a > 2 * (plan.figures["steady_a"].value or 0.0):
        yield f"  The closing contact carries up to {plan.contact_peak_a:.3g} A for a moment (the capacitor's charge)."


def _compare(plan: Plan) -> Iterator[str]:
    yield "\nThe same coil at the same current from other voltages"
    yield "     volts    resistor   time constant   operates   releases   added bias   coil      resistor"
    for a in plan.comparison:
        own = ">" if a.volts == plan.request.drive.supply.volts else " "
        yield (
            f"  {own} {a.volts:5g} V  {a.series_ohm:7.0f} ohm  {a.tau_s * 1e3:9.2f} ms  {_ms(a.operate_s)}  "
            f"{_ms(a.release_s)}  {_percent(a.bias_percent)}  {a.coil_w:6.3g} W  {a.resistor_w:6.3g} W"
        )
    yield wrapped(WHY, "  ", "  ")


def _ms(time_s: float | None) -> str:
    return "   never   " if time_s is None else f"{time_s * 1e3:8.2f} ms"


def _percent(value: float | None) -> str:
    return "    -     " if value is None else f"{value:+8.1f} %"
