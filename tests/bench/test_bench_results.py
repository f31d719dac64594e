"""The evidence page of a result without a page of its own: title, figures, steps, verdicts, cautions; and its twin."""

import html

import pytest

from tapewright.terminal.run import run

FIRST = ("--first-volts", "40", "--most-volts", "70", "--most-amps", "1.5", "--rpm", "1800", "--acknowledged")
COMMANDS = {
    "margin": (("line", "margin", "--to", "practice:petrel", "--speed-proven"), "--for",
               ("The receiver's range", "Reads right from", "Each question", "Receiver margin", "ITU-T S.3")),
    "speed": (("motor", "speed", "--gears", "7:30", "--units", "6.5", "--tach", "1780"), "--machine",
              ("The speed, by several ways", "tachometer", "Before you do it again", "Speed error")),
    "supply": (("motor", "supply", "--to", "practice:petrel", *FIRST, "--no-confirm"), "--machine",
               ("Brought to speed by its supply", "Each voltage", "A series motor without a load runs away")),
    "pinion": (("motor", "pinion", "--gears", "14:60", "--from-mains", "60", "--to-mains", "50"), "--machine",
               ("Another pinion", "Pairs that come near", "19")),
}  # fmt: skip


@pytest.mark.parametrize("sort", COMMANDS)
def test_a_bench_result_can_be_read_on_its_page(bench, caller, petrel, tmp_path, sort):
    words, flag, said = COMMANDS[sort]
    run([*words, flag, "Petrel", "--book", str(tmp_path / "workshop.book")])
    entry = bench.book.newest_evidence(petrel)[sort]
    page = caller.get(f"/machines/{petrel}/evidence/{entry.key}")
    assert page.status_code == 200
    text = html.unescape(page.text.partition("<details>")[0])
    assert all(word in text for word in said), sort
    twin = caller.get(f"/machines/{petrel}/evidence/{entry.key}.json").json()
    assert twin["told"]["table"]["rows"]
    assert len(twin["verdicts"]) == len(entry.new.body["result"].get("verdicts", []))


def test_what_is_shown_of_odd_documents():
    from tapewright.bench.pages.evidence import told_of

    assert told_of({"format": "tapewright/observation/1"}) is None
    told = told_of({"format": "tapewright/margin/1", "questions": "none", "margin_percent": 3})
    assert (told["figures"], told["table"]) == ([], None)
