"""A proof of the size the limit of time is about."""

import hashlib
import io
import time
import zipfile

import pypdf
import pytest

from proof.practice_book import KEY, large
from tapewright.book.entry import NewEntry
from tapewright.book.record import open_book
from tapewright.furniture.pages.html import pages_html
from tapewright.furniture.pages.pdf import pages_pdf
from tapewright.proof.proof_pages import proof_pages
from tapewright.proof.prove_machine import prove_entries
from tapewright.proof.written_sections import MOST_LINES
from tapewright.terminal.run import run


@pytest.mark.slow
def test_200_requirements_10_captures_and_5_tapes_take_under_five_seconds_of_processor_time():
    entries = large().all()
    started = time.process_time()
    proof = prove_entries("Petrel", KEY, entries)
    made = pages_pdf(proof_pages(proof))
    assert time.process_time() - started < 5.0
    assert sum(bool(answer.id) for answer in proof.answers) == 200
    used = [line for line in proof.trail.lines if line.kind == "evidence"]
    assert len(used) == 17
    assert len(pypdf.PdfReader(io.BytesIO(made)).pages) > 10
    assert {e.sort: e.n for e in proof.errors}["line"] == 5 * 1025
    assert {t.test: t.done for t in proof.plan.tests}["full-speed"] == "done"


def test_a_very_long_record_is_listed_in_part_and_the_rest_by_one_fingerprint(tmp_path):
    where = str(tmp_path / "b.db")
    book = open_book(where)
    content = b"raw"
    sha256 = hashlib.sha256(content).hexdigest()
    book.write([NewEntry(KEY, "identity", {"name": "Petrel", "model": "Petrel"})], {})
    book.write([NewEntry(KEY, "note", {"text": "first"}, files=(sha256,))], {sha256: lambda: io.BytesIO(content)})
    book.write([NewEntry(KEY, "note", {"text": f"line {n}"}) for n in range(MOST_LINES + 50)], {})
    keys = [entry.key for entry in book.read_through(KEY)]
    book.close()
    html = pages_html(proof_pages(prove_entries("Petrel", KEY, list(open_book(where).read_through(KEY)))))
    assert keys[1] in html  # it holds a raw file
    assert keys[-1] in html
    assert keys[2] not in html
    assert run(["book", "export", "--machine", "Petrel", "-o", str(tmp_path / "p.zip"), "--book", where]) == 0
    with zipfile.ZipFile(tmp_path / "p.zip") as bundle:
        assert hashlib.sha256(bundle.read("keys.txt")).hexdigest() in html
