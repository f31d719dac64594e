"""A proof of the size the limit of time is about."""

import io
import time

import pypdf
import pytest

from proof.practice_book import KEY, large
from tapewright.adapters.reports.pages.pdf import pages_pdf
from tapewright.adapters.reports.proof.proof_pages import proof_pages
from tapewright.app.prove_machine import prove_entries


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
    assert {t.row.key: t.done for t in proof.plan.tests}["full-speed"] == "done"
