"""The bench form: one page a station, a box for every reading, in the order of the work; as PDF or HTML.

The boxes are numbered through, and typing them in afterwards asks for them in the same order.
"""

import json
from dataclasses import dataclass
from html import escape
from importlib import resources

from tapewright.gauges.cautions import cautions_before
from tapewright.gauges.gauge import GAUGES
from tapewright.gauges.order import order_of
from tapewright.gauges.requirement import EYE_WILL_DO, YES_OR_NO, Ends, LimitKind, Requirement, Sheet

HEADINGS = ("machine", "date", "by", "room temperature", "warm after (minutes)", "gauges used")


@dataclass(frozen=True, slots=True)
class Box:
    """One box to write in: its number on the form, the requirement, the position (empty for the only one)."""

    number: int
    requirement: Requirement
    position: str

    @property
    def yes_or_no(self) -> bool:
        """Return whether the box takes a yes or a no and nothing else."""
        return self.requirement.kind in YES_OR_NO

    @property
    def eye_will_do(self) -> bool:
        """Return whether a yes or a no will do as well as a number."""
        return self.requirement.kind in EYE_WILL_DO


def boxes_of(sheet: Sheet) -> list[Box]:
    """Return every box in the order of the form: station by station, in each the order of the work."""
    by_id = {r.id: r for r in sheet.requirements}
    ordered = [by_id[id_] for id_ in order_of(sheet).ids]
    stations = list(dict.fromkeys(r.station for r in ordered))
    places = [(r, p) for s in stations for r in ordered if r.station == s for p in (r.positions or ("",))]
    return [Box(n, r, p) for n, (r, p) in enumerate(places, start=1)]


def limit_words(r: Requirement, ends: Ends) -> str:
    """Write a limit as a mechanic says it."""
    if r.kind is LimitKind.NONE_KNOWN:
        return "no limit known: write down what you find"
    low, high = (None if end is None else f"{end:g}" for end in (ends.low, ends.high))
    words = {
        LimitKind.NEAR_NOT_TOUCHING: f"some, not touching{f', at most {high} {r.unit}' if high else ''}",
        LimitKind.FLUSH: f"flush{f', within {high} {r.unit}' if high else ''}",
        LimitKind.EQUAL_WITHIN: f"alike within {high} {r.unit}",
        LimitKind.ORDERED: f"{' over '.join(r.positions)}{f', by {low} {r.unit}' if low else ''}",
        LimitKind.NOT_TO_BIND: "must not bind",
        LimitKind.ALL_OF: "every one",
        LimitKind.BY_EYE: "by eye",
    }
    if r.kind in words:
        return words[r.kind]
    if low and high:
        return f"{low} to {high} {r.unit}"
    return f"at least {low} {r.unit}" if low else f"at most {high} {r.unit}"


def _content(sheet: Sheet) -> dict[str, object]:
    """Everything on the form as plain data."""
    boxes = boxes_of(sheet)
    stations: dict[str, list[dict[str, object]]] = {}
    for first in [b for b in boxes if b.position in (b.requirement.positions[:1] or ("",))]:
        r = first.requirement
        own = [b for b in boxes if b.requirement.id == r.id]
        stations.setdefault(r.station, []).append(
            {
                "id": r.id,
                "what": r.what,
                "limit": limit_words(r, r.test),
                "readjust": limit_words(r, r.readjust) if r.readjust and r.readjust != r.test else "",
                "state": r.state,
                "between": " and ".join(r.between),
                "gauge": GAUGES[r.gauge].name if r.gauge else "",
                "tools": ", ".join(r.tools),
                "reset": r.reset,
                "cautions": list(cautions_before(r)),
                "recheck": ", ".join(r.upsets),
                "source": str(r.source),
                "standing": r.source.standing.value,
                "boxes": [
                    {"number": b.number, "position": b.position, "unit": "yes / no" if b.yes_or_no else r.unit}
                    for b in own
                ],
            }
        )
    return {
        "machine": sheet.machine + (f", {sheet.variant}" if sheet.variant else ""),
        "headings": list(HEADINGS),
        "stations": [{"station": s, "rows": rows} for s, rows in stations.items()],
    }


def form_pdf(sheet: Sheet) -> bytes:
    """Return the form as PDF; the same sheet gives the same bytes."""
    import typst

    template = (resources.files(__package__) / "bench_form.typ").read_bytes()
    data = json.dumps(_content(sheet), ensure_ascii=False)
    made = typst.compile(template, format="pdf", sys_inputs={"form": data}, ignore_system_fonts=True, timestamp=0)
    return bytes(made)


def form_html(sheet: Sheet) -> str:
    """Return the form as one HTML page that prints one station a page."""
    content = _content(sheet)
    machine = escape(str(content["machine"]))
    blank = "".join(f"<td>{escape(h)}<i></i></td>" for h in HEADINGS[1:])
    pages = []
    for page in content["stations"]:  # type: ignore[attr-defined]
        rows = "".join(_row_html(row) for row in page["rows"])
        pages.append(
            f"<section><h1>{machine}: {escape(page['station'])}</h1><table class='head'><tr>{blank}</tr></table>"
            f"{rows}</section>"
        )
    return (
        f"<!doctype html><html lang='en'><meta charset='utf-8'><title>Bench form, {machine}</title>"
        f"<style>{STYLE}</style>{''.join(pages)}</html>\n"
    )


def _row_html(row: dict[str, object]) -> str:
    cautions = "".join(f"<p class='caution'>Caution: {escape(c)}.</p>" for c in row["cautions"])  # type: ignore[attr-defined]
    facts = [
        ("limit", row["limit"]), ("when you touch it", row["readjust"]), ("state", row["state"]),
        ("between", row["between"]), ("gauge", row["gauge"]), ("tools", row["tools"]), ("to set it", row["reset"]),
        ("then measure again", row["recheck"]), ("source", f"{row['source']} ({row['standing']})"),
    ]  # fmt: skip
    said = "".join(f"<li><b>{k}</b> {escape(str(v))}</li>" for k, v in facts if v)
    boxes = "".join(
        f"<td><small>{b['number']} {escape(b['position'])}</small><i></i><small>{escape(b['unit'])}</small></td>"
        for b in row["boxes"]  # type: ignore[attr-defined]
    )
    return (
        f"<article>{cautions}<h2>{escape(str(row['what']))} <small>{escape(str(row['id']))}</small></h2>"
        f"<ul>{said}</ul><table><tr>{boxes}</tr></table></article>"
    )


STYLE = """
body{font:15px/1.35 system-ui,sans-serif;color:#22262B;background:#FFFDF7;margin:12mm}
section{break-after:page}section:last-child{break-after:auto}
article{break-inside:avoid;border-top:1px solid #5A5F66;padding:3mm 0}
h1{font-size:22px}h2{font-size:17px;margin:0}small{font-weight:400;color:#5A5F66;font-size:12px}
ul{list-style:none;margin:1mm 0;padding:0}li{display:inline-block;margin-right:5mm}b{color:#5A5F66;font-weight:600}
td{vertical-align:bottom;padding-right:4mm}i{display:block;width:24mm;height:9mm;border:1px solid #22262B}
.head i{border-width:0 0 1px;height:7mm}
.caution{border-left:4px solid #97290F;padding-left:3mm;margin:0;font-weight:600}
"""
