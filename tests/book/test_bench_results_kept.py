"""Margin, speed, supply, drive train and what was sent, kept in the book: timeline, advisor, proof."""

import json
import os
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tapewright.book.kinds import SORTS
from tapewright.book.store.open import open_book
from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"
TO_PETREL = ("--book", "bench.book", "--machine", "Petrel")
FOR_PETREL = ("--book", "bench.book", "--for", "Petrel")
FIRST = ("--first-volts", "40", "--most-volts", "70", "--most-amps", "1.5", "--rpm", "1800", "--acknowledged")
#: sort of evidence -> (command that makes it, a few of the words that the book says it in)
COMMANDS = {
    "margin": (("line", "margin", "--to", "practice:petrel", "--speed-proven", "--stands", "48", *FOR_PETREL,
                "--measured-by", "Ada", "--phase", "as left"), "reads right from"),
    "sent": (("line", "send", "--pattern", "ry", "--count", "10", "--bias", "12", "--to", "practice:petrel",
              *FOR_PETREL), "sent 10 characters to"),
    "train": (("motor", "train", "--gears", "14:60", "--rpm", "1800", *TO_PETREL), "motor must turn at"),
    "pinion": (("motor", "pinion", "--gears", "14:60", "--from-mains", "60", "--to-mains", "50", *TO_PETREL),
               "19:68 comes nearest"),
    "makeshift": (("motor", "makeshift", "--belt", "30:90", "--readings", "1105,1098,1110,1092", *TO_PETREL),
                  "makeshift drive at"),
    "speed": (("motor", "speed", "--gears", "7:30", "--units", "6.5", "--tach", "1780", *TO_PETREL, "--by", "Ada"),
              "Bd by tachometer"),
    "supply": (("motor", "supply", "--to", "practice:petrel", *FIRST, "--no-confirm", *TO_PETREL),
               "brought in by the supply: done"),
}  # fmt: skip


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """Run every command once, its result kept; give the folder and what each printed as JSON."""
    folder = tmp_path_factory.mktemp("bench")
    with pytest.MonkeyPatch.context() as at:
        at.chdir(folder)
        at.delenv("TAPEWRIGHT_BOOK", raising=False)
        assert run(["machine", "add", "Petrel", "--advisor", "whole", "--book", "bench.book"]) == 0
        for words, _ in COMMANDS.values():
            assert run([*words]) in (0, 1, 3), words
        yield folder


def evidence(bench):
    book = open_book(str(bench / "bench.book"))
    try:
        return {sort: entry.new for sort, entry in book.newest_evidence(book.machine("Petrel").key).items()}
    finally:
        book.close()


def test_every_result_is_in_the_book_as_its_document(bench):
    kept = evidence(bench)
    assert set(kept) == set(COMMANDS)
    for sort, new in kept.items():
        body = new.body
        Draft202012Validator(json.loads((SCHEMAS / f"{sort}.json").read_text("utf-8"))).validate(body["result"])
        assert body["result"]["format"] == SORTS[sort]
        assert COMMANDS[sort][1] in body["says"]
        assert body["steps"]["command"] == " ".join(COMMANDS[sort][0][:2])
    assert kept["margin"].by == kept["speed"].by == "Ada"
    assert kept["margin"].body["phase"] == "as left"
    assert kept["train"].body["steps"]["settings"]["gears"] == ["14:60"]


def test_timeline_overview_and_advisor_know_them(bench, capsys):
    at = ("--book", str(bench / "bench.book"))
    run(["machine", "history", "Petrel", *at])
    said = capsys.readouterr().out
    assert all(words in said for _, words in COMMANDS.values())
    run(["machine", "show", "Petrel", *at])
    assert "margin" in capsys.readouterr().out.partition("Newest evidence")[2]
    assert run(["diagnose", "--machine", "Petrel", "--json", *at]) in (0, 1, 3)
    found = json.loads(capsys.readouterr().out)
    files = " ".join(found["files"])
    assert all(word in files for word in ("margin of", "speed of", "supply of"))
    assert not any(word in files for word in ("sent of", "train of", "pinion of", "makeshift of"))


def test_the_proof_judges_by_them_and_counts_the_sweep(bench, capsys):
    run(["machine", "prove", "Petrel", "--json", "--book", str(bench / "bench.book")])
    proof = json.loads(capsys.readouterr().out)
    groups = {answer["group"] for answer in proof["verdicts"]}
    assert {"margin", "speed", "supply"} <= groups
    assert not groups & {"sent", "train", "pinion", "makeshift"}
    assert next(test["done"] for test in proof["plan"]["tests"] if test["test"] == "margin") == "done"


def test_cautions_taken_on_are_on_record_before_the_step(bench):
    book = open_book(str(bench / "bench.book"))
    (caution,) = book.entries(book.machine("Petrel").key, kinds=("caution",))
    (supply,) = book.entries(book.machine("Petrel").key, kinds=("evidence",), sort="supply")
    book.close()
    assert caution.number < supply.number
    assert caution.new.body["step"] == "motor supply"
    assert caution.new.body["acknowledged"] is True
    assert "supply can kill" in caution.new.body["caution"]


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
def test_a_margin_over_a_port_says_what_the_port_does_to_the_speed(tmp_path, capsys):
    master, slave = os.openpty()
    (tmp_path / "answers").write_text("right\nwrong\n")
    try:
        run(["line", "margin", "R", "--to", f"serial:{os.ttyname(slave)}", "--acknowledged", "--answers",
             str(tmp_path / "answers")])  # fmt: skip
    finally:
        os.close(master)
        os.close(slave)
    assert capsys.readouterr().err.count("45 is -1.00 %") == 1


@pytest.mark.parametrize(("words", "code", "match"), [
    (("motor", "train", "--book", "bench.book", "--machine", "Gannet"), 4, "There are: Petrel"),
    (("motor", "speed", "--tach", "1800", "--by", "Ada"), 2, "say with --machine"),
    (("line", "send", "RY", "--to", "practice", "--book", "bench.book"), 2, "--book: say with --for"),
    (("line", "margin", "--to", "practice", "--measured-by", "Ada"), 2, "--measured-by: say with --for"),
    # refused at once: nothing is asked, and nothing is switched on
    (("motor", "supply", *FIRST, "--book", "bench.book", "--machine", "Gannet"), 4, "There are: Petrel"),
])  # fmt: skip
def test_what_cannot_be_kept_is_said_before_anything_happens(bench, capsys, words, code, match):
    assert run(list(words)) == code
    said = capsys.readouterr()
    assert match in said.err
    assert said.out == ""
