"""Read a sheet: TOML or a table in, a checked `Sheet` out, or one message per fault with its line and key."""

from dataclasses import replace

from tapewright.gauges.files.fields import Document, Fields, read_document, shown
from tapewright.gauges.files.sheet_table import read_sheet_table
from tapewright.gauges.files.toml_lines import Path
from tapewright.gauges.gauge import GAUGES, UNITS
from tapewright.gauges.requirement import ENDS_OF, YES_OR_NO, Ends, LimitKind, Requirement, Sheet, Stage
from tapewright.number import Source, Standing

#: kinds that compare places with each other, with how many places they need
COMPARES = {LimitKind.EQUAL_WITHIN: 2, LimitKind.ORDERED: 2}
#: standings a sheet may claim; "published" needs a document
STANDINGS = [
    s.value
    for s in (
        Standing.MANUAL,
        Standing.OWNER,
        Standing.COMMON_PRACTICE,
        Standing.PUBLISHED,
        Standing.PUBLISHED_SECONDARY,
        Standing.DERIVED,
        Standing.MEMORY,
        Standing.MEASURED,
    )
]


def read_sheet(source: str, data: bytes, variant: str = "") -> Sheet:
    """Read one sheet; `variant` chooses among requirements that do not apply to every variant.

    Raises:
        InputError: when the file is neither TOML nor, by its name, a table.
        InputFaultsError: with every fault of the sheet.
    """
    is_table = source.lower().endswith((".csv", ".tsv"))
    document = read_sheet_table(source, data) if is_table else read_document(source, data)
    top = document.fields(document.content)
    machine = top.text("machine", required=True)
    note, chosen = top.text("note"), variant or top.text("variant")
    top.take("variant")
    common = read_source(top.inner("source"), None)
    top.take("requirement")
    top.finish()
    read = [_requirement(fields, common) for fields in document.tables("requirement")]
    everything = [r for r in read if r is not None]
    applying = [r for r in everything if not r.variants or chosen in r.variants]
    _check_variants(document, everything, chosen)
    _check_ids(document, everything)
    document.finish()
    return Sheet(machine, tuple(_known_only(applying)), chosen, note)


def _requirement(fields: Fields, common: Source | None) -> Requirement | None:
    kind_name = fields.choice("limit", [k.value for k in LimitKind], required=True)
    stage_name = fields.choice("stage", [s.value for s in Stage], required=True)
    kind = LimitKind(kind_name) if kind_name else LimitKind.NONE_KNOWN
    unit = fields.choice("unit", UNITS, required=kind_name != "" and kind not in YES_OR_NO) or "yes"
    test = _ends(fields, "test", kind if kind_name else None)
    readjust = _ends(fields, "readjust", kind if kind_name else None) if "readjust" in fields.table else None
    _check_tighter(fields, test, readjust)
    source = read_source(fields.inner("source"), common)
    if source is None:
        fields.fault(
            "source",
            expected="where the limit comes from, here or once for the whole sheet",
            found="nothing",
            do='For example source = { document = "manual", standing = "owner\'s choice" }.',
        )
    requirement = Requirement(
        id=fields.text("id", required=True),
        station=fields.text("station", required=True),
        what=fields.text("what", required=True),
        stage=Stage(stage_name) if stage_name else Stage.FUNCTION,
        kind=kind,
        unit=unit,
        test=test,
        readjust=readjust,
        source=source or Source("", "", Standing.OWNER),
        state=fields.text("state"),
        between=fields.texts("between"),
        quantity=fields.text("quantity"),
        positions=_positions(fields, kind),
        gauge=fields.choice("gauge", GAUGES),
        gauge_u=fields.number("gauge_u", least=0),
        tools=fields.texts("tools"),
        reset=fields.text("reset"),
        cautions=fields.texts("cautions"),
        warm=fields.flag("warm"),
        powered=fields.flag("powered"),
        locked=fields.flag("locked"),
        variants=fields.texts("variants"),
        depends_on=fields.texts("depends_on"),
        upsets=fields.texts("upsets"),
        knobs=fields.texts("knobs"),
        note=fields.text("note"),
    )
    fields.finish()
    return requirement if requirement.id else None


def _positions(fields: Fields, kind: LimitKind) -> tuple[str, ...]:
    """Take the places to measure: names, or a number n for "1" to "n"."""
    value = fields.take("positions")
    if isinstance(value, int) and not isinstance(value, bool):
        names = tuple(str(n) for n in range(1, value + 1)) if 1 <= value <= 1000 else ()
        if not names:
            fields.fault("positions", expected="a number of places from 1 to 1000", found=shown(value))
    else:
        names = fields.texts("positions")
        if len(set(names)) < len(names):
            fields.fault("positions", expected="each place named once", found=shown(value))
    if len(names) < COMPARES.get(kind, 0):
        fields.fault("positions", expected=f"at least {COMPARES[kind]} places to compare", found=shown(value))
    return names


def _ends(fields: Fields, key: str, kind: LimitKind | None) -> Ends:
    """Take a pair of ends; which of them a kind needs stands in ENDS_OF."""
    inner = fields.inner(key)
    needed = ENDS_OF[kind] if kind else ("low?", "high?")
    if inner is None:
        must = [end for end in needed if not end.endswith("?")]
        if must and key not in fields.table:
            fields.fault(
                key, expected=f"{' and '.join(must)}, as limit = {kind.value!r} needs" if kind else "", found="nothing"
            )
        return Ends()
    found: dict[str, float | None] = {}
    for end in ("low", "high"):
        wanted = end in needed
        if end in inner.table and not wanted and end + "?" not in needed and kind is not None:
            inner.take(end)
            inner.fault(end, expected=f"no {end} end with limit = {kind.value!r}", found=shown(inner.table[end]))
        else:
            found[end] = inner.number(end, required=wanted)
    inner.finish()
    low, high = found.get("low"), found.get("high")
    if low is not None and high is not None and low > high:
        inner.fault("low", expected=f"low not above high, which is {high:g}", found=f"{low:g}")
        return Ends()
    return Ends(low, high)


def _check_tighter(fields: Fields, test: Ends, readjust: Ends | None) -> None:
    if readjust is None:
        return
    too_low = test.low is not None and readjust.low is not None and readjust.low < test.low
    too_high = test.high is not None and readjust.high is not None and readjust.high > test.high
    if too_low or too_high:
        fields.fault(
            "readjust",
            expected="limits inside the test limits (they are the tighter ones)",
            found=_written(readjust),
            do=f"The test limits are {_written(test)}.",
        )


def _written(ends: Ends) -> str:
    return f"{'' if ends.low is None else f'{ends.low:g}'} .. {'' if ends.high is None else f'{ends.high:g}'}"


def read_source(fields: Fields | None, common: Source | None) -> Source | None:
    """Take where a limit comes from: document, place and standing; `common` when the table is absent."""
    if fields is None:
        return common
    standing = fields.choice("standing", STANDINGS, required=True)
    document, place = fields.text("document"), fields.text("place")
    needs_document = standing in (Standing.MANUAL.value, Standing.PUBLISHED.value)
    if needs_document and not document:
        fields.fault(
            "document", expected=f"the name of the document, as standing {standing!r} claims one", found="nothing"
        )
    fields.finish()
    if not standing:
        return Source("", "", Standing.OWNER)
    return Source(document or standing, place, Standing(standing))


def _check_variants(document: Document, requirements: list[Requirement], chosen: str) -> None:
    known = sorted({v for r in requirements for v in r.variants})
    if chosen and chosen not in known:
        document.fault(
            ("variant",),
            expected=f"one of the variants of this sheet: {', '.join(known) or 'it has none'}",
            found=repr(chosen),
        )


def _check_ids(document: Document, everything: list[Requirement]) -> None:
    """No id twice for one variant; every reference leads to an id of the sheet; nothing refers to itself."""
    paths: list[Path] = [("requirement", n) for n in _table_numbers(document)]
    variants = {v for r in everything for v in r.variants} | {""}
    named = {r.id for r in everything}
    first: dict[tuple[str, str], Path] = {}
    for path, r in zip(paths, everything, strict=True):
        earlier = {first.setdefault((r.id, v), path) for v in r.variants or variants} - {path}
        if earlier:
            document.fault(
                (*path, "id"),
                expected="an id used once for each variant",
                found=f"{r.id!r}, also on line {min(map(document.lines.line_of, earlier))}",
            )
        for key in ("depends_on", "upsets"):
            for other in getattr(r, key):
                if other not in named or other == r.id:
                    what = "itself" if other == r.id else "which the sheet does not have"
                    document.fault((*path, key), expected="ids of other requirements", found=f"{other!r}, {what}")


def _table_numbers(document: Document) -> list[int]:
    tables = document.content.get("requirement", [])
    return [n for n, t in enumerate(tables) if isinstance(t, dict) and isinstance(t.get("id"), str) and t["id"].strip()]


def _known_only(applying: list[Requirement]) -> list[Requirement]:
    """Drop references to requirements of other variants."""
    ids = {r.id for r in applying}
    return [
        replace(r, depends_on=tuple(i for i in r.depends_on if i in ids), upsets=tuple(i for i in r.upsets if i in ids))
        for r in applying
    ]
