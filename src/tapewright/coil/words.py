"""What a plan and a recorded current say, in words; the figures are written from the documents."""

from collections.abc import Iterator, Sequence

from tapewright.coil.document import Alternative, Change, Closure, Coil, DrivePlan, Search, Spread
from tapewright.furniture.pages.blocks import Bullets, Cell, Facts, Lines, Section, Table, Text, Verdicts
from tapewright.furniture.report import as_text, facts, table
from tapewright.furniture.writing import write
from tapewright.number import Reading

# --- drive plan ---


def plan_text(plan: DrivePlan) -> str:
    """Return the report of a plan, cautions first."""
    travel = plan.coil.travel_ms or plan.coil.return_ms
    sections = [
        Section("Before anything is switched on", [Bullets(plan.cautions)]),
        Section(
            "The drive",
            [Text(_circuit(plan)), Lines(plan.circuit), _facts(plan, "steady_a", "tau_ms", "energy_j", "peak_v")],
        ),
        Section("The armature, " + ("its travel included" if travel else "its travel not included"), [_times(plan)]),
        Section(f"Real characters ({plan.stream.transitions} transitions)", list(_stream(plan))),
        Section("Heat", list(_heat(plan))),
        Section("The same coil at the same current from other voltages", [_voltages(plan), Text(plan.comparison.why)]),
        Section("Verdicts", [Verdicts(plan.verdicts)]),
    ]
    return as_text(sections if plan.search is None else [*sections, _search(plan.search)])


def _facts(plan: DrivePlan, *keys: str) -> Facts:
    return Facts(tuple((label.capitalize(), value) for label, value in facts(plan.readings, *keys).pairs))


def _circuit(plan: DrivePlan) -> str:
    supply, coil = plan.supply, plan.coil
    limit = "" if supply.limit_a is None else f", limit {supply.limit_a:g} A"
    return (
        f"{supply.volts:g} V{limit}, {plan.series.r_ohm:.4g} ohm in series, coil {coil.r_ohm:.4g} ohm at "
        f"{coil.at_c:g} degrees and {coil.l_h:.4g} H, {plan.suppressor.words}, switch on the {plan.switch.side} side."
    )


def _times(plan: DrivePlan) -> Facts:
    figures, value = plan.readings, plan.readings.added_bias_percent.value
    kind = "" if value is None else " (marking: marks grow)" if value > 0 else " (spacing: marks shrink)"
    bias = f"{write(figures.added_bias_percent, signed=True)} of a {plan.stream.unit_ms:g} ms unit{kind}"
    times = (("Operates after", figures.operate_ms), ("Releases after", figures.release_ms))
    return Facts((*((word, write(time)) for word, time in times), ("Adds bias", bias)))


def _stream(plan: DrivePlan) -> Iterator[Text | Table]:
    stream = plan.stream
    if stream.missed_marks + stream.missed_spaces:
        yield Text(
            f"The armature misses {stream.missed_marks} marks and {stream.missed_spaces} spaces: with this drive the "
            "machine cannot receive the text."
        )
        return
    yield Text(
        f"Every element is followed; mean bias {stream.bias_ms or 0:+z.2f} ms ({stream.bias_percent or 0:+z.1f} %), "
        f"largest displacement against the start {stream.worst_ms or 0:.2f} ms ({stream.worst_percent or 0:.1f} %). "
        f"Marks of one unit grow by {_span(stream.isolated_marks_longer_ms)}; "
        f"spaces by {_span(stream.isolated_spaces_longer_ms)}."
    )
    head = ("element", "begins late", "ends late", "mark alone grows")
    spreads = [(each.begins_late_ms, each.ends_late_ms, each.mark_longer_ms) for each in stream.per_element]
    rows = [(str(number), *map(_span, each)) for number, each in enumerate(spreads, start=1)]
    yield _rows(head, rows, "What happens to each element")


def _rows(head: Sequence[str], rows: Sequence[Sequence[str]], caption: str) -> Table:
    cells = tuple(tuple(Cell(text) for text in row) for row in rows)
    return Table(tuple(head), (1.0,) * len(head), cells, caption)


def _span(spread: Spread) -> str:
    if spread.mean is None or spread.low is None or spread.high is None:
        return "none"
    if spread.high - spread.low < 5e-3:
        return f"{spread.mean:+z.2f} ms"
    return f"{spread.low:+z.2f} to {spread.high:+z.2f} ms"


def _heat(plan: DrivePlan) -> Iterator[Text | Table]:
    power = plan.power
    named = (("supply", power.supply), ("coil", power.coil), ("series resistor", power.resistor))
    rows = [(name, *(f"{watt:.3g} W" for watt in (p.held_w, p.peak_w, p.mean_w))) for name, p in named]
    yield _rows(("", "held in mark", "peak", "mean over the text"), rows, "Where the power goes")
    if plan.series.r_ohm:
        sold = f"sold as {plan.fit_sold_w:g} W" if plan.fit_sold_w else "more than one resistor carries: share it out"
        yield Text(f"Fit a resistor of at least {plan.fit_w or 0:.3g} W, {sold}.")
    duty = plan.duty
    allowed = "not shown" if duty.allowed_fraction is None else f"{duty.allowed_fraction * 100:.0f} % of the time"
    yield Text(f"The text has the coil on {duty.mark_fraction * 100:.0f} % of the time.")
    yield Text(f"May be on: {allowed} ({duty.why}).")
    if duty.hot_c is not None:
        yield Text(f"Held for ever the coil settles near {duty.hot_c:.0f} degrees Celsius.")
    if power.break_j > 1e-9:
        yield Text(f"The contact and what lies across it take {power.break_j * 1e3:.3g} mJ at each break.")
    if plan.contact_peak_a > 2 * (plan.steady_a or 0.0):
        peak = f"{plan.contact_peak_a:.3g} A"
        yield Text(f"The closing contact carries up to {peak} for a moment (the capacitor's charge).")


def _voltages(plan: DrivePlan) -> Table:
    head = ("", "volts", "resistor", "time constant", "operates", "releases", "added bias", "coil", "resistor")
    rows = [(">" if a.volts == plan.supply.volts else "", *_alternative(a)) for a in plan.comparison.at]
    return _rows(head, rows, plan.comparison.why)


def _alternative(a: Alternative) -> tuple[str, ...]:
    bias = "-" if a.added_bias_percent is None else f"{a.added_bias_percent:+.1f} %"
    times = ("never" if time is None else f"{time:.2f} ms" for time in (a.tau_ms, a.operate_ms, a.release_ms))
    return (f"{a.volts:g} V", f"{a.series_ohm:.0f} ohm", *times, bias, f"{a.coil_w:.3g} W", f"{a.resistor_w:.3g} W")


def _search(search: Search) -> Section:
    wish, heading = search.wish, f"Which resistor and suppressor ({search.tried} drives tried with the whole text)"
    wanted = Text(
        f"Wanted: every instant within {wish.added_bias_percent:g} % of the unit, contact up to {wish.contact_v:g} V, "
        f"at least {wish.least_current_ratio:g} times the pull-in current."
    )
    if not search.choices:
        none = "No drive meets all of that. Raise the volts of the supply, or allow more at the contact."
        return Section(heading, [wanted, Text(none)])
    rows = [
        (
            f"{c.series_ohm:.0f} ohm",
            c.suppressor.words,
            f"{c.worst_percent:.1f} %",
            f"{c.added_bias_percent:+.1f} %",
            f"{c.peak_v:.0f} V",
            f"{c.resistor_w:.3g} W",
        )
        for c in search.choices
    ]
    head = ("resistor", "suppressor", "instants within", "mean bias", "contact", "resistor heat")
    return Section(heading, [wanted, _rows(head, rows, "Drives that meet it")])


# --- drive read ---

SHOWN_CLOSINGS = 12
ANSWERS = {
    True: "The armature moved.",
    False: "The armature did not move.",
    None: "Cannot tell whether the armature moved.",
}
MOVED = {True: "yes", False: "no", None: "cannot tell"}


def coil_text(coil: Coil, other: Coil | None = None) -> str:
    """Return the report of a recorded current, and of the later one it is compared with."""
    sections = [Section("Before the current is recorded", [Bullets(coil.cautions)]), *_one(coil)]
    if coil.comparison is not None and other is not None:
        sections += [*_one(other), Section(f"Against {other.source.file}", [_changes(coil.comparison.changes)])]
    return as_text(sections)


def _one(coil: Coil) -> Iterator[Section]:
    upside = ", recorded upside down" if coil.source.inverted else ""
    head = f"{coil.source.file}: {len(coil.closures)} closings at {coil.source.rate_hz:g} samples a second{upside}"
    says = [Text(ANSWERS[coil.moved]), *(Text(note) for note in coil.notes)]
    if coil.instrument:
        yield Section(head, says)
        return
    figures = (
        ("Resistance", coil.resistance_ohm),
        ("Inductance", coil.inductance_h),
        ("With it on the pole", coil.inductance_landed_h if coil.inductance_landed_h.value is not None else None),
        ("Time constant", coil.tau_ms),
        ("Lands after", coil.landing_ms if coil.landing_ms.value is not None else None),
        ("Landings scatter by", coil.scatter_ms if coil.landing_ms.value is not None else None),
        ("Back after", coil.release_ms if coil.moved is not False else None),
    )
    yield Section(head, [*says, Facts(tuple((name, _shown(each)) for name, each in figures if each is not None))])
    yield Section("Closing by closing", [_closings(coil.closures)])


def _shown(reading: Reading) -> str:
    return str(reading) if reading.value is not None else f"not shown ({reading.how})"


def _closings(closures: Sequence[Closure]) -> Table:
    rows = [(f"{c.on_s:.4f} s", MOVED[c.moved], _landing(c), _remarks(c)) for c in closures[:SHOWN_CLOSINGS]]
    if len(closures) > SHOWN_CLOSINGS:
        rows.append((f"... and {len(closures) - SHOWN_CLOSINGS} more", "", "", ""))
    return _rows(("closing at", "moved", "lands after", "remarks"), rows, "Each closing")


def _landing(closure: Closure) -> str:
    if closure.landing_ms.value is None:
        return "cannot tell when" if closure.moved else "-"
    return str(closure.landing_ms)


def _remarks(closure: Closure) -> str:
    remarks = ["slower than the others"] if closure.slow else []
    if closure.bounce_ms.value is not None:
        remarks.append(f"bounces for {closure.bounce_ms}")
    if closure.further_dips_ms:
        remarks.append("further dip at " + ", ".join(f"{time:.2f}" for time in closure.further_dips_ms) + " ms")
    return "; ".join([*remarks, closure.why] if closure.moved is None else remarks)


def _changes(changes: Sequence[Change]) -> Table:
    return table(changes)
