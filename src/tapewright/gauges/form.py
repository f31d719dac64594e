"""The bench form: station by station, boxes for every reading as found and as left; as PDF or HTML.

The boxes are numbered through, and typing them in afterwards asks for them in the same order.
"""

import json
from dataclasses import dataclass
from html import escape
from importlib import resources
from itertools import groupby

from tapewright.gauges.cautions import cautions_before
from tapewright.gauges.gauge import GAUGES
from tapewright.gauges.order import order_of
from tapewright.gauges.requirement import (
    EYE_WILL_DO,
    YES_OR_NO,
    Ends,
    LimitKind,
    Requirement,
    Sheet,
)

HEADINGS = ("date", "by", "room temperature", "warm after (minutes)", "gauges used")
#: what there is room for beside each number of a box: a number or a go/no-go pair, before and after a turn
COLUMNS = (
    "as found",
    "goes",
    "does not go",
    "turn made",
    "as left",
    "goes",
    "does not go",
)


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


@dataclass(frozen=True, slots=True)
class Row:
    """One requirement on the form: what is said of it, and its boxes."""

    requirement: Requirement
    facts: tuple[tuple[str, str], ...]
    boxes: tuple[Box, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Requirements of one station that follow each other and have the same cautions; these stand once, before them."""

    cautions: tuple[str, ...]
    rows: tuple[Row, ...]


def groups_of(sheet: Sheet) -> dict[str, list[Group]]:
    """Return the groups of each station in the order of the form."""
    stations: dict[str, list[Group]] = {}
    for _, same in groupby(boxes_of(sheet), key=lambda box: box.requirement.id):
        boxes = tuple(same)
        r = boxes[0].requirement
        groups, cautions, row = (
            stations.setdefault(r.station, []),
            cautions_before(r),
            Row(r, _facts(r), boxes),
        )
        if groups and groups[-1].cautions == cautions:
            groups[-1] = Group(cautions, (*groups[-1].rows, row))
        else:
            groups.append(Group(cautions, (row,)))
    return stations


def _facts(r: Requirement) -> tuple[tuple[str, str], ...]:
    touched = limit_words(r, r.readjust) if r.readjust and r.readjust != r.test else ""
    facts = (
        ("limit", limit_words(r, r.test)),
        ("when you touch it", touched),
        ("state", r.state),
        ("between", " and ".join(r.between)),
        ("gauge", GAUGES[r.gauge].name if r.gauge else ""),
        ("tools", ", ".join(r.tools)),
        ("to set it", r.reset),
        ("then measure again", ", ".join(r.upsets)),
        ("source", f"{r.source} ({r.source.standing.value})"),
    )
    return tuple((name, words) for name, words in facts if words)


def _unit(box: Box) -> str:
    return "yes / no" if box.yes_or_no else box.requirement.unit


def form_pdf(sheet: Sheet) -> bytes:
    """Return the form as PDF; the same sheet gives the same bytes."""
    import typst

    template = (resources.files(__package__) / "bench_form.typ").read_bytes()
    stations = [
        {"station": name, "groups": [_plain(group) for group in groups]} for name, groups in groups_of(sheet).items()
    ]
    content = {
        "machine": _title(sheet),
        "headings": HEADINGS,
        "columns": COLUMNS,
        "stations": stations,
    }
    data = json.dumps(content, ensure_ascii=False)
    made = typst.compile(
        template,
        format="pdf",
        sys_inputs={"form": data},
        ignore_system_fonts=True,
        timestamp=0,
    )
    return bytes(made)


def _title(sheet: Sheet) -> str:
    return sheet.machine + (f", {sheet.variant}" if sheet.variant else "")


def _plain(group: Group) -> dict[str, object]:
    rows = [
        {
            "what": row.requirement.what,
            "id": row.requirement.id,
            "facts": row.facts,
            "boxes": [
                {
                    "name": f"{b.number} {b.position}",
                    "unit": _unit(b),
                    "pair": not b.yes_or_no,
                }
                for b in row.boxes
            ],
        }
        for row in group.rows
    ]
    return {"cautions": group.cautions, "rows": rows}


def form_html(sheet: Sheet) -> str:
    """Return the form as one HTML page that prints on full pages."""
    machine = escape(_title(sheet))
    blank = "".join(f"<td>{escape(h)}<i></i></td>" for h in HEADINGS)
    stations = "".join(
        f"<section><h2>{escape(name)}</h2>{''.join(map(_group_html, groups))}</section>"
        for name, groups in groups_of(sheet).items()
    )
    return (
        f"<!doctype html><html lang='en'><meta charset='utf-8'><title>Bench form, {machine}</title>"
        f"<style>{STYLE}</style><h1>{machine}</h1><table class='head'><tr>{blank}</tr></table>{stations}</html>\n"
    )


def _group_html(group: Group) -> str:
    cautions = "".join(f"<p class='caution'>Caution: {escape(c)}.</p>" for c in group.cautions)
    return f"<article>{cautions}{''.join(map(_row_html, group.rows))}</article>"


def _row_html(row: Row) -> str:
    facts = "".join(f"<li><b>{name}</b> {escape(words)}</li>" for name, words in row.facts)
    head = "".join(f"<th>{name}</th>" for name in COLUMNS)
    boxes = "".join(_box_html(box) for box in row.boxes)
    r = row.requirement
    return (
        f"<div class='row'><h3>{escape(r.what)} <small>{escape(r.id)}</small></h3><ul>{facts}</ul>"
        f"<table class='boxes'><tr><th></th>{head}</tr>{boxes}</table></div>"
    )


def _box_html(box: Box) -> str:
    unit = f"<i><small>{escape(_unit(box))}</small></i>"
    read = f"<td colspan='3'>{unit}</td>" if box.yes_or_no else f"<td>{unit}</td><td><i></i></td><td><i></i></td>"
    name = f"<td><small>{box.number} {escape(box.position)}</small></td>"
    return f"<tr>{name}{read}<td class='turn'><i></i></td>{read}</tr>"


STYLE = """
body{font:14px/1.3 system-ui,sans-serif;color:#22262B;background:#FFFDF7;margin:12mm}
.row{break-inside:avoid;border-top:1px solid #5A5F66;padding:2mm 0}.caution,h2{break-after:avoid}
h1{font-size:22px}h2{font-size:19px}h3{font-size:16px;margin:0}small{font-weight:400;color:#5A5F66;font-size:12px}
ul{list-style:none;margin:1mm 0;padding:0}li{display:inline-block;margin-right:5mm}b{color:#5A5F66;font-weight:600}
th{font-weight:400;font-size:12px;color:#5A5F66;text-align:left}td{padding-right:2mm}
i{display:block;height:8mm;border:1px solid #22262B;text-align:right}.boxes{width:100%}.turn{width:22%}
.head{width:100%}.head i{border-width:0 0 1px;height:7mm}
.caution{border-left:4px solid #97290F;padding-left:3mm;margin:2mm 0 0;font-weight:600}
"""
