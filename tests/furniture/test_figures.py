"""Figures found by the walk over a document's type, and written; typed or as the book keeps them alike."""

import json
from typing import Annotated, ClassVar

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec import field

from tapewright.furniture.document import UNSET, Document, Unset, figure, to_builtins, told
from tapewright.furniture.figures import NOT_THERE, figure_at, figures, side_by_side
from tapewright.furniture.pages.blocks import Bullets, Caution, Lines, Section, Table, Text, Verdicts
from tapewright.furniture.pages.html import blocks_html
from tapewright.furniture.report import as_text, facts, table
from tapewright.furniture.writing import PROPER_MINUS, verdict_text, wrapped, write
from tapewright.number import Limit, Reading, Source, Standing, judge, missing


class Bounce(Document, frozen=True, kw_only=True):
    """A bounce."""

    median: Annotated[float, figure("bounce", "ms")]


class Contact(Document, frozen=True, kw_only=True):
    """A contact."""

    row_label: ClassVar[str] = "contact {contact}"
    contact: str
    late_ms: Annotated[Reading, figure("closes late", "ms", "Late +.", signed=True, marks=("compared",))]
    bounce_ms: Annotated[Bounce | None, told("Null where it never closes.")] = None
    dropouts: Annotated[int, figure("dropouts")] = 0


class Speed(Document, frozen=True, kw_only=True):
    """The speed."""

    unit_ms: Annotated[Reading, figure("unit", "ms", marks=("compared",))]
    proven: Annotated[bool, figure("proven")] = True
    named: Annotated[str | Unset, figure("named")] = UNSET


class Spoken(Document, frozen=True, kw_only=True):
    """A document."""

    format: str = "tapewright/spoken/1"
    speed: Speed
    contacts: tuple[Contact, ...] = ()
    readings: Annotated[dict[str, Reading], figure("", "A")] = field(default_factory=dict)
    levels: Annotated[tuple[float, float] | None, figure("level", "V")] = None
    notes: tuple[str, ...] = ()


def spoken(**changes):
    contacts = (
        Contact(contact="3", late_ms=Reading(0.31, 0.01, "ms"), bounce_ms=Bounce(median=0.2), dropouts=2),
        Contact(contact="stop", late_ms=missing("ms", "it never closes")),
    )
    return Spoken(**{"speed": Speed(unit_ms=Reading(21.98, 0.02, "ms", 200)), "contacts": contacts} | changes)


def test_the_walk_follows_the_fields_and_names_records_by_what_they_are():
    found = list(figures(spoken(levels=(1.0, 2.5), readings={"steady": Reading(0.06, 0.001, "A")})))
    assert [(each.key, each.name, str(each)) for each in found] == [
        ("speed.unit_ms", "unit", "21.98 ± 0.04 ms"),
        ("speed.proven", "proven", "yes"),
        ("contacts.3.late_ms", "contact 3 closes late", "+0.31 ± 0.02 ms"),
        ("contacts.3.bounce_ms.median", "contact 3 bounce", "0.2 ms"),
        ("contacts.3.dropouts", "contact 3 dropouts", "2"),
        ("contacts.stop.late_ms", "contact stop closes late", "not known (it never closes)"),
        ("contacts.stop.dropouts", "contact stop dropouts", "0"),
        ("readings.steady", "steady", "0.060 ± 0.002 A"),
        ("levels.1", "level 1", "1 V"),
        ("levels.2", "level 2", "2.5 V"),
    ]
    assert [each.key for each in figures(spoken(), mark="compared")] == [
        "speed.unit_ms", "contacts.3.late_ms", "contacts.stop.late_ms",
    ]  # fmt: skip
    assert found[2].says == "Late +."
    assert figure_at(spoken(), "contacts.3.dropouts").value == 2
    assert figure_at(spoken(), "contacts.4.dropouts") is None


def test_what_the_book_keeps_gives_the_same_figures():
    document = spoken(speed=Speed(unit_ms=Reading(21.98, 0.02, "ms"), named="50 baud"), levels=(1.0, 2.0))
    kept = json.loads(json.dumps(to_builtins(document)))
    typed, read = list(figures(document)), list(figures(kept, Spoken))
    assert [each.path for each in typed] == [each.path for each in read]
    assert [each.value for each in typed if each.known] == [each.value for each in read if each.known]
    assert figure_at(kept, "contacts.stop.late_ms", Spoken).reading == missing("ms", NOT_THERE)


KEYS = ["speed", "unit_ms", "value", "u", "unit", "contacts", "contact", "late_ms", "levels", "readings"]
anything = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=9),
    lambda below: st.lists(below, max_size=3) | st.dictionaries(st.sampled_from(KEYS), below, max_size=5),
    max_leaves=20,
)


@given(st.dictionaries(st.sampled_from(["speed", "contacts", "levels", "readings"]), anything))
def test_anything_in_a_book_is_walked_and_nothing_odd_comes_out(kept):
    for each in figures(kept, Spoken):
        assert not each.known or isinstance(each.value, Reading | float | int | str | bool)
        if each.known and each.reading.value is not None:
            assert abs(each.reading.value) <= 1e15
        assert str(each)


def test_two_documents_are_laid_side_by_side_by_path():
    other = spoken(contacts=(Contact(contact="4", late_ms=Reading(1.0, 0.1, "ms")),))
    pairs = {(a or b).key: (a is not None, b is not None) for a, b in side_by_side(figures(spoken()), figures(other))}
    assert pairs["speed.unit_ms"] == (True, True)
    assert pairs["contacts.3.late_ms"] == (True, False)
    assert pairs["contacts.4.late_ms"] == (False, True)


@pytest.mark.parametrize(("value", "options", "text"), [
    (Reading(21.98, 0.02, "ms"), {}, "21.98 ± 0.04 ms"),
    (Reading(-0.75, 0.05, "percent"), {}, "-0.75 ± 0.10 %"),
    (Reading(-0.75, 0.05, "percent"), {"minus": PROPER_MINUS}, "−0.75 ± 0.10 %"),
    (Reading(0.31, 0.01, "ms"), {"signed": True}, "+0.31 ± 0.02 ms"),
    (Reading(-0.0001, 0.01, "ms"), {}, "0.00 ± 0.02 ms"),
    (Reading(-0.0, None, "ms"), {}, "0 ms"),
    (Reading(1.42, 0.0, "unit"), {}, "1.42 units"),
    (Reading(0.21, 0.005, "1"), {}, "21.0 ± 1.0 %"),
    (Reading(25.4, 0.254, "mm"), {"units": "inch"}, "1.00 ± 0.02 in"),
    (Reading(1.0, 1e-6, "mm"), {}, "1.0000 ± <0.0001 mm"),
    (12345, {"unit": "V"}, "12345 V"),
    (12.3456, {"unit": "mm"}, "12.35 mm"),
    (True, {}, "yes"), ("50 baud", {}, "50 baud"), (None, {}, "not known"),
    (missing("ms", "no stop"), {}, "not known (no stop)"),
])  # fmt: skip
def test_a_figure_is_written_so(value, options, text):
    assert write(value, **options) == text


@given(st.floats(-1e6, 1e6), st.none() | st.floats(0, 1e3))
def test_a_reading_is_written_as_it_writes_itself(value, u):
    reading = Reading(value, u, "mm")
    assert write(reading).replace("-0 ", "0 ") == str(reading).replace("-0 ", "0 ")


GAP = Limit("gap of contact 3", 0.2, 0.28, "mm", Source("Heron's sheet", "p. 4", Standing.MANUAL))


def test_a_report_is_mostly_its_document():
    document, verdict = spoken(), judge(Reading(0.3, 0.002, "mm"), GAP)
    report = [
        Section("Speed", [facts(document.speed)]),
        Section("Contacts", [table(document.contacts, heads={"dropouts": "gaps"}), Text("Late is positive. " * 9)]),
        Section("Text", [Lines(["RYRY", "x" * 200])]),
        Section("To set", [Caution("Loop supply off."), Bullets(["contact 3: late", "then again"], numbered=True)]),
        Section("Verdicts", [Verdicts([verdict])]),
    ]
    text = as_text(report)
    assert text.splitlines()[:8] == [
        "Speed",
        "  unit    21.98 ± 0.04 ms",
        "  proven  yes",
        "",
        "Contacts",
        "                closes late, ms  bounce, ms  gaps",
        "  contact 3     +0.31 ± 0.02     0.2         2",
        "  contact stop  -                -           0",
    ]
    assert text.splitlines()[-2:] == verdict_text(verdict)
    assert "  1. contact 3: late\n  2. then again" in text
    assert all(len(line) <= 100 for line in text.splitlines())
    html = "".join(blocks_html(section.blocks) for section in report)
    for words in ("21.98 ± 0.04 ms", "<ol><li>contact 3: late</li>", "outside", "Heron&#x27;s sheet", "<pre>RYRY"):
        assert words in html


def test_a_table_without_rows_and_facts_without_figures_are_empty():
    assert table(()).rows == ()
    assert facts(Speed(unit_ms=missing("ms", "")), "unit_ms").pairs == ()
    assert isinstance(table(spoken().contacts, "late_ms"), Table)


def test_lines_are_broken_at_the_width():
    assert wrapped("a b", "  - ") == ["  - a b"]
    assert wrapped("", "  ") == [""]
    assert [len(line) <= 30 for line in wrapped("word " * 20, width=30)] == [True] * 4
