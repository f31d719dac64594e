"""The proof on paper and on the screen, opened and read back by general tools."""

import io
import re
from dataclasses import replace
from html.parser import HTMLParser

import pypdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proof.practice_book import KEY, Record, small
from tapewright.furniture.pages.blocks import (  # fmt: skip
    Answers,
    Bullets,
    Caution,
    Cell,
    Counts,
    Facts,
    Pages,
    Picture,
    Section,
    Table,
    Text,
)
from tapewright.furniture.pages.html import pages_html
from tapewright.furniture.pages.pdf import pages_pdf
from tapewright.furniture.pages.printable import HOLDS, MAY_BREAK, SHAPES, printable, shape_svg
from tapewright.proof.plan_pages import plan_pages
from tapewright.proof.proof_pages import proof_pages
from tapewright.proof.prove_machine import prove_entries

#: words that a proof must not say of a machine
NEVER = re.compile(r"\b(un)?(safe(ly|ty|ness)?|perfect(ly|ion)?|(flaw|fault|harm)less(ly)?|guarantee[sd]?)\b", re.I)

NASTY = (
    '"quoted" and \'single\'', "[brackets] {braces} (and) <b>bold</b>", "#set text(size: 90pt)",
    "$x^2$ @cite <label> `raw`", "*stars* _lines_ ~ \\ / // /* comment */", "<script>alert(1)</script>",
    "]]> &amp; &lt; <!-- -->", "'); DROP TABLE x; --",
    "Prüfstück für Größe, Ærø, Łódź, Ωμ, Ж", "emoji 😀 👩‍🔧 and flags 🇳🇴",
    "right to left: שלום مرحبا", "漢字かな", "zero\x00one\x07two\x1b[31m",
    "W" * 400, "é" * 5, "e\u0301 a\u0308 \u0301\u0308alone", "line one\nline two\r\nline three", "tab\there",
    "\u2028\u2029\ufeff\u200f",
    "\ud800 lone", "", " ", "#", "\\u{1F600}", "0" * 64, "=" * 60, "- list\n+ list\n/ term: x", "#import \"x.typ\": *",
)  # fmt: skip


def text_of(pdf):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def squeezed(text):
    return re.sub(r"[\s\u200b\u00ad]+", "", text)


def a_page_of_everything(words):
    rows = [(Cell(w, state="outside", quiet=w), Cell(w, mono=True, quiet=w), Cell(box=True)) for w in words]
    blocks = [Text(w) for w in words] + [Bullets(words, "head"), Facts([(w, w) for w in words]),
              Table(("a", "b", "c"), (1, 1, 1), [(Cell("group", span=True),), *rows], "caption"), Caution(words[0]),
              Table(("none",), (1,), [], "an empty table"), Counts([("within", 1)]), Answers("question", words),
              Picture(shape_svg("within"), words[0], 20.0)]  # fmt: skip
    date = small().entries[0].at
    return Pages(words[0], words[1], words[2], date, [Section(words[3], blocks, new_page=True), Section("empty", [])])


class Outline(HTMLParser):
    """Counts what a browser would load or run, and that every tag is closed."""

    VOID = frozenset({"meta", "col", "br", "hr", "img", "link"})

    def __init__(self):
        super().__init__()
        self.open, self.seen, self.text, self.attributes = [], [], [], []

    def handle_starttag(self, tag, attrs):
        self.seen.append(tag)
        self.attributes += attrs
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen.append(tag)
        self.attributes += attrs

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def outline(html):
    parsed = Outline()
    parsed.feed(html)
    parsed.close()
    assert parsed.open == []
    return parsed


@pytest.fixture(scope="module")
def pages():
    return proof_pages(prove_entries("Petrel", KEY, small().all()))


@pytest.fixture(scope="module")
def pdf(pages):
    return pages_pdf(pages)


@pytest.mark.parametrize(("paper", "points"), [("a4", (595.28, 841.89)), ("letter", (612, 792))])
def test_page_size_is_that_of_the_paper(pages, paper, points):
    """A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 inch; a point is 1/72 inch."""
    for page in pypdf.PdfReader(io.BytesIO(pages_pdf(pages, paper))).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(points, abs=0.5)


def test_every_page_has_its_number_machine_and_date(pdf):
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    for number, page in enumerate(reader.pages, start=1):
        said = page.extract_text()
        assert f"page {number} of {len(reader.pages)}" in said
        assert "Proof of Petrel, as of 2026-05-05" in said


def test_pdf_is_tagged_and_says_it_is_an_archive_file_that_can_be_read_aloud(pdf):
    """PDF/A-2a (ISO 19005-2) and PDF/UA-1 (ISO 14289-1): the metadata say so, MarkInfo says tagged."""
    root = pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    metadata = root["/Metadata"].get_data().decode()
    assert root["/MarkInfo"]["/Marked"]
    assert re.search(r"pdfaid:part[>=\"]+2", metadata)
    assert re.search(r"pdfaid:conformance[>=\"]+A", metadata)
    assert re.search(r"pdfuaid:part[>=\"]+1", metadata)
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


def test_first_page_holds_the_answers_and_the_states_as_words(pdf):
    first = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    for said in ("Petrel", "What was wrong", "What does it do now", "How sure", "What was not shown", "within"):
        assert said in first


def test_the_same_lines_give_the_same_bytes(pages, pdf):
    again = proof_pages(prove_entries("Petrel", KEY, small().all()))
    assert pages_pdf(again) == pdf
    assert pages_html(again) == pages_html(pages)


def test_all_sections_are_there(pdf):
    said = text_of(pdf)
    for head in ("The machine", "As found, as left", "What was done", "Requirements", "The line signal", "The tape",
                 "Wrong characters", "restorer's words",
                 "clean click", "Electrical checks", "mains lead and frame",
                 "Instruments", "Not tested", "The test plan", "Open points", "Cautions",
                 "Fingerprints"):  # fmt: skip
        assert head in said
    assert squeezed(small().entries[0].key) in squeezed(said)
    assert "warm; supply +2 % off nominal" in said


def test_it_never_says_what_no_measurement_can_show(pages, pdf):
    for said in (text_of(pdf), " ".join(outline(pages_html(pages)).text), text_of(pages_pdf(plan_pages_of_small()))):
        found = NEVER.search(said)
        assert found is None, said[max(0, found.start() - 80) : found.end() + 40]


def plan_pages_of_small():
    proof = prove_entries("Petrel", KEY, small().all())
    return plan_pages(proof.plan, proof.as_of)


def test_html_is_one_file_without_a_script(pages):
    parsed = outline(pages_html(pages))
    assert not {"script", "link", "img", "iframe", "object"} & set(parsed.seen)
    assert not [name for name, _ in parsed.attributes if name in ("src", "href") or name.startswith("on")]
    assert parsed.seen.count("h1") == 1
    assert parsed.seen.count("svg") > 20


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_odd_words_neither_break_nor_reach_into_the_page(paper):
    made = pages_pdf(a_page_of_everything(NASTY), paper)
    said = text_of(made)
    assert "#set text" in said
    assert "*stars*" in said
    assert "alert(1)" in said
    assert "U+1F600 grinning face" in said
    assert len(pypdf.PdfReader(io.BytesIO(made)).pages) < 60
    parsed = outline(pages_html(a_page_of_everything(NASTY)))
    assert "script" not in parsed.seen
    assert any("<script>alert(1)</script>" in text for text in parsed.text)
    assert "x.typ" in "".join(parsed.text)


def test_ten_thousand_characters_run_over_pages():
    long = ("A note that goes on. " * 500)[:10_000]
    pages = Pages("t", "s", "r", small().entries[0].at, [Section("h", [
        Text(long), Table(("a", "b"), (1, 1), [(Cell(long), Cell("x"))], "c"), Text("X" * 10_000)])])  # fmt: skip
    said = squeezed(text_of(pages_pdf(pages)))
    assert said.count(squeezed("A note that goes on.")) >= 950
    assert said.count("X") >= 10_000


def test_a_record_of_odd_words_gives_a_proof():
    record = Record()
    for n, words in enumerate(NASTY):
        words = words.encode("utf-8", "replace").decode()
        record.write("note", {"text": words})
        record.write("adjustment", {"what": words, "before": words, "after": n, "why": words})
        record.write("caution", {"caution": words, "acknowledged": True})
        record.write("identity", {"name": "x", "model": words, "modules": [words]})
    made = proof_pages(prove_entries(NASTY[1], KEY, record.all()))
    assert pages_pdf(made).startswith(b"%PDF")
    assert "script" not in outline(pages_html(made)).seen


def test_every_sign_the_page_is_said_to_hold_is_set():
    """PDF/A refuses a sign without a letter form, so one document of all of them shows that the table is true."""
    signs = [chr(n) for first, last in HOLDS for n in range(first, last + 1)]
    pages = Pages("t", "s", "r", small().entries[0].at, [Section("h", [Text(" ".join(signs))])])
    assert len(signs) > 2000
    assert text_of(pages_pdf(pages))


@settings(max_examples=6)
@given(st.lists(st.text(max_size=60), min_size=4, max_size=8))
def test_any_words_can_be_set(words):
    assert pages_pdf(a_page_of_everything(words)).startswith(b"%PDF")
    outline(pages_html(a_page_of_everything(words)))


def test_signs_that_cannot_be_set_are_named():
    assert printable("a😀b") == "a[U+1F600 grinning face]b"
    assert printable("\x07") == "[U+0007]"
    assert printable("e\u0301") == "é"
    assert MAY_BREAK in printable("W" * 60)
    assert MAY_BREAK not in printable("short words " * 20)
    assert printable("W" * 60, may_break=False) == "W" * 60


def test_the_four_states_differ_in_shape_and_not_in_colour_alone():
    paths = {state: path for state, (path, _, _) in SHAPES.items()}
    assert len(set(paths.values())) == 4
    assert "stroke-dasharray" in shape_svg("not shown")


def test_a_proof_of_almost_nothing_can_be_set():
    record = Record()
    record.write("identity", {"name": "Heron"})
    made = proof_pages(prove_entries("Heron", KEY, record.all()))
    said = text_of(pages_pdf(made))
    assert "Nothing was judged" in said
    assert "Not tested" in said
    assert pages_pdf(replace(made, title="Other")) != pages_pdf(made)


def test_long_words_leave_the_four_answers_on_the_first_page():
    record = small()
    note = "It goes on and on. " * 500
    record.write("identity", {"name": "Petrel", "model": note, "serial": note, "place": note, "note": note})
    made = pages_pdf(proof_pages(prove_entries("Petrel", KEY, record.all())), "letter")
    reader = pypdf.PdfReader(io.BytesIO(made))
    assert "What was not shown" in reader.pages[0].extract_text()
    assert squeezed(text_of(made)).count("Itgoesonandon.") >= 4 * 490
