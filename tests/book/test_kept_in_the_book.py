"""Results kept in the book: the measuring commands, what the advisor draws from it, the log and its lists."""

import hashlib
import io
import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tapewright.book.gauges_in_book import SheetFilesInBook, add_readings, check_from_book
from tapewright.book.keep_result import Taken
from tapewright.book.measured_again import COMMANDS, measure_again
from tapewright.book.store.open import open_book
from tapewright.gauges.journal import Entry as Reading
from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"
OWN_LIMITS = """[[limits]]
check = "feed pitch"
low = 2.5
high = 2.6
unit = "mm"
source = "ours"
"""
TEXT = "RYRYRYRYRY THE QUICK BROWN FOX"


@pytest.fixture
def say(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TAPEWRIGHT_BOOK", "workshop.book")

    def said(*words, code=(0, 1, 3)):
        found = run(list(words))
        printed = capsys.readouterr()
        assert found in (code if isinstance(code, tuple) else (code,)), printed.err
        return printed.err if code in (2, 4) else printed.out

    said("machine", "add", "Petrel", "--advisor", "keyboard-punch")
    return said


@pytest.fixture
def book(say):
    opened = open_book("workshop.book")
    yield opened
    opened.close()


def document(text, name):
    found = json.loads(text)
    Draft202012Validator(json.loads((SCHEMAS / f"{name}.json").read_text("utf-8"))).validate(found)
    return found


def test_evidence_names_file_settings_and_how_it_was_taken(say, book):
    say("line", "compose", TEXT, "--bias", "10", "-o", "petrel.wav")
    reading = ("line", "read", "petrel.wav", "--nominal", "45.45", "--expect", TEXT)
    noted = ("--phase", "as found", "--instrument", "sound card", "--temperature", "17", "--running", "5")
    say(*reading, "--machine", "petrel", "--by", "Ada", "--note", "rain", *noted)
    printed = json.loads(say(*reading, "--json"))
    (entry,) = book.entries(book.machine("Petrel").key, kinds=("evidence",))
    body = entry.new.body
    assert body["result"] == printed
    told = {key: body[key] for key in ("sort", "phase", "instrument", "temperature_c", "running_minutes", "note")}
    assert told == {"sort": "line", "phase": "as found", "instrument": "sound card", "temperature_c": 17,
                    "running_minutes": 5, "note": "rain"}  # fmt: skip
    assert entry.new.by == "Ada"
    wav = Path("petrel.wav").read_bytes()
    assert body["sources"] == [{"sha256": hashlib.sha256(wav).hexdigest(), "name": "petrel.wav", "role": "capture"}]
    assert book.raw(entry.new.files[0]).read() == wav
    assert body["steps"]["command"] == "line read"
    # the settings in the book are enough to measure the same again
    assert measure_again("line read", {"capture": Path("petrel.wav")}, body["steps"]["settings"]) == printed


def test_every_command_keeps_its_result(say, book):
    key = book.machine("Petrel").key
    say("line", "compose", TEXT, "-o", "line.wav")
    say("tape", "practice", TEXT, "-o", "tape.png")
    say("sheet", "new", "trials.toml", "--from", "trials")
    Path("limits.toml").write_text(OWN_LIMITS)
    kept = ("--machine", "Petrel")
    say("tape", "read", "tape.png", "--limits", "limits.toml", *kept, code=(0, 1, 3))
    say("compare", "line.wav", "tape.png", "--expect", TEXT, *kept)
    say("sheet", "check", "petrel", *kept)
    say("trim", "trials.toml", *kept)
    evidence = {sort: e.new.body for sort, e in book.newest_evidence(key).items()}
    assert {sort: [s["role"] for s in body["sources"]] for sort, body in evidence.items()} == {
        "tape": ["picture", "limits"], "comparison": ["capture", "picture"], "gauge": ["sheet"]}  # fmt: skip
    assert evidence["tape"]["result"]["source"]["file"] == "tape.png"
    assert [e.new.body["name"] for e in book.entries(key, kinds=("sheet",))] == ["petrel.toml"]
    assert book.entries(key, kinds=("trial",))[0].new.body["advice"]["format"] == "tapewright/trim/1"
    assert {body["steps"]["command"] for body in evidence.values()} <= set(COMMANDS)


def test_output_in_json_stays_one_document(say):
    say("line", "compose", "RYRYRYRYRY", "-o", "line.wav")
    assert json.loads(say("line", "read", "line.wav", "--json", "--machine", "Petrel"))["format"] == "tapewright/line/1"


@pytest.mark.parametrize(("words", "code", "match"), [
    (("--by", "Ada"), 2, "say with --machine"),
    (("--machine", "Gannet"), 4, "There are: Petrel"),
    (("--machine", "Petrel", "--book", "none.book"), 4, "machine add"),
])  # fmt: skip
def test_what_cannot_be_kept_is_said(say, words, code, match):
    say("line", "compose", "RYRYRYRYRY", "-o", "line.wav")
    assert match in say("line", "read", "line.wav", *words, code=code)


def test_the_advisor_draws_on_the_book(say, book):
    say("line", "compose", TEXT * 3, "--bias", "20", "-o", "line.wav")
    say("line", "read", "line.wav", "--nominal", "45.45", "--machine", "Petrel")
    first = document(say("diagnose", "--machine", "petrel", "--json"), "diagnosis")
    assert first["machine"]["name"] == "keyboard-punch"
    assert [name[:13] for name in first["files"]] == ["line 2, line "]
    # an answer given is kept, and the newer word on a finding counts
    say("diagnose", "--machine", "Petrel", "--yes", "better-warm", "--by", "Ada")
    say("diagnose", "--machine", "Petrel", "--no", "better-warm")
    observed = book.entries(book.machine("Petrel").key, sort="observation")
    assert [document(json.dumps(e.new.body["result"]), "observation") for e in observed] == [
        {"format": "tapewright/observation/1", "no": ["better-warm"]},
        {"format": "tapewright/observation/1", "yes": ["better-warm"]}]  # fmt: skip
    said = document(say("diagnose", "--machine", "Petrel", "--json"), "diagnosis")
    states = [a["state"] for a in said["evidence"] if a["finding"] == "better-warm"]
    assert states == ["absent"]
    say("machine", "log", "Petrel", "electrical-check", "between=all", "reading=good", "complete=yes")
    say("machine", "log", "Petrel", "adjustment", "what=gap")
    said = document(say("diagnose", "--machine", "Petrel", "--json"), "diagnosis")
    assert "dead electrical check" in said["on_record"]
    assert said["files"][0].endswith("before the last adjustment")


def test_sheet_and_newest_readings_from_the_book(say, book):
    say("sheet", "check", "petrel", "--machine", "Petrel")
    before = check_from_book(book, SheetFilesInBook(book), "Petrel")
    assert not any(c.found for c in before.checked)
    wanted = next(c.requirement for c in before.checked if c.requirement.unit == "mm" and not c.requirement.positions)
    entry = add_readings(book, "Petrel", (Reading(wanted.id, value=0.3, unit="mm", u=0.01),), Taken(by="Ada"))
    more = add_readings(book, "Petrel", (Reading(wanted.id, value=0.4, unit="mm", u=0.01),), Taken(by="Ada"))
    assert more.new.rests_on == (entry.key,)
    after = check_from_book(book, SheetFilesInBook(book), "Petrel")
    assert [c.requirement.id for c in after.checked if c.found] == [wanted.id]
    journal = book.raw(next(s["sha256"] for s in more.new.body["sources"] if s["role"] == "readings")).read().decode()
    assert journal.count("[[entry]]") == 2


def stations(say):
    found = document(say("diagnose", "--machine", "Petrel", "--json"), "diagnosis")
    return {s["station"]: s["state"] for s in found["stations"]}, found


def test_what_an_adjustment_overtook_convicts_nobody(say):
    say("line", "compose", TEXT * 3, "--machine", "petrel", "-o", "line.csv")
    say("line", "read", "line.csv", "--nominal", "45.45", "--machine", "Petrel")
    before, found = stations(say)
    assert before["transmitting contact"] == "outside"
    assert found["not_counted"] == []
    # the die is not what the contacts show by
    say("machine", "log", "Petrel", "adjustment", "what=die shimmed", "station=punch")
    assert stations(say)[0]["transmitting contact"] == "outside"
    # in vain: the fault is there, but the contact is not what it was
    say("machine", "log", "Petrel", "adjustment", "what=contact 3 gap", "station=contacts", "outcome=no")
    tried, found = stations(say)
    assert tried["transmitting contact"] != "outside"
    say("machine", "log", "Petrel", "adjustment", "what=contact 3 gap", "station=contacts")
    after, found = stations(say)
    assert after["transmitting contact"] == "not yet shown"
    assert any("(contact 3 gap)" in by for n in found["not_counted"] for by in n["overtaken_by"])
    assert "look again" in say("diagnose", "--machine", "Petrel")
    # and a capture from after it counts again
    say("line", "read", "line.csv", "--nominal", "45.45", "--machine", "Petrel")
    assert stations(say)[0]["transmitting contact"] == "outside"


def test_an_adjustment_nobody_placed_overtakes_all_before_it(say):
    say("diagnose", "--machine", "Petrel", "--yes", "better-warm", "--done", "speed proven")
    say("machine", "log", "Petrel", "adjustment", "what=a screw somewhere")
    found = stations(say)[1]
    assert found["evidence"] == []
    assert [n["finding"] for n in found["not_counted"]] == ["better-warm"]
    assert found["on_record"] == []
    say("diagnose", "--machine", "Petrel", "--yes", "better-warm")
    assert [a["finding"] for a in stations(say)[1]["evidence"]] == ["better-warm"]


def test_a_journal_that_goes_on_does_not_bring_old_readings_back(say, book):
    """Of what an adjustment upset only what was entered after it counts, though each line holds the whole journal."""

    def read(**values):
        for id_, value in values.items():
            add_readings(book, "Petrel", (Reading(id_.replace("_", "-"), value=value, u=0.001),), Taken())
        return {a["finding"]: a["state"] for a in stations(say)[1]["evidence"]}

    say("sheet", "check", "petrel", "--machine", "Petrel")
    assert read(shaft_end_play=0.9, anti_rebound_latch=0.9).keys() >= {"end-play-large", "start-latch-gap-off"}
    say("machine", "log", "Petrel", "adjustment", "what=shaft end-play")
    assert read() == {}  # what the end-play upsets is to be measured again too: the sheet's order says so
    assert read(anti_rebound_latch=0.9).keys() == {"start-latch-gap-off"}
    assert read(shaft_end_play=0.9)["end-play-large"] == "present"
    say("machine", "log", "Petrel", "adjustment", "what=anti-rebound-latch")
    assert read().keys() == {"end-play-large"}  # no screw of the latch moves the shaft


def test_readings_from_before_and_after_an_adjustment_are_not_put_together(say, book):
    say("sheet", "check", "petrel", "--machine", "Petrel")

    def end_play(value):
        entry = add_readings(book, "Petrel", (Reading("shaft-end-play", value=value, u=0.001),), Taken())
        return next(r["verdict"] for r in entry.new.body["result"]["requirements"] if r["id"] == "shaft-end-play")

    assert end_play(0.5)["state"] == "outside"
    say("machine", "log", "Petrel", "adjustment", "what=shaft end-play", "before=0.5", "after=0.06")
    verdict = end_play(0.06)
    assert (verdict["state"], verdict["value"]) == ("within", pytest.approx(0.06))
    assert end_play(0.06)["value"] == pytest.approx(0.06)


def test_readings_typed_in_the_terminal_are_those_of_the_page(say, book, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO("\ny\nu\nn\nq\n"))
    said = say("sheet", "enter", "petrel", "--machine", "Petrel", "--by", "Ada", "--phase", "as left", "--warm")
    assert "In the book of Petrel" in said
    typed = book.entries(book.machine("Petrel").key, sort="gauge")[0]
    page = add_readings(book, "Petrel", (Reading("punch-travel-low", value=0.3, u=0.01),), Taken(by="Ada"))
    assert typed.new.kind == page.new.kind == "evidence"
    assert typed.new.body.keys() == page.new.body.keys()
    assert typed.new.body["steps"] == page.new.body["steps"]
    assert [s["role"] for s in typed.new.body["sources"]] == [s["role"] for s in page.new.body["sources"]]
    assert (typed.new.by, typed.new.body["phase"]) == ("Ada", "as left")
    assert page.new.rests_on == (typed.key,)
    monkeypatch.setattr("sys.stdin", io.StringIO("q\n"))
    assert "the book is as it was" in say("sheet", "enter", "--machine", "Petrel")
    assert "another sheet" in say("sheet", "enter", "heron", "--machine", "Petrel", code=2)
    assert "--machine NAME" in say("sheet", "enter", "petrel", code=2)
    assert book.entries(book.machine("Petrel").key, limit=1)[0].key == page.key


def test_log_history_and_assembly(say):
    for part in ("punch block", "feed wheel"):
        say("machine", "log", "Petrel", "dismantled", f"part={part}", "bag=7")
    wrong = json.loads(say("machine", "log", "Petrel", "dismantled", "part=crank", "--json"))
    Path("latch.jpg").write_bytes(b"a picture")
    withdrawn = ("--replaces", wrong["key"][:12], "--reason", "another part", "--by", "A. Keeper")
    say("machine", "log", "Petrel", "dismantled", "part=latch", *withdrawn, "--file", "latch.jpg")
    steps = document(say("machine", "assembly", "Petrel", "--json"), "assembly")["steps"]
    assert [(s["step"], s["part"]) for s in steps] == [(1, "latch"), (2, "feed wheel"), (3, "punch block")]
    assert "photos: latch.jpg" in say("machine", "assembly", "Petrel")
    page = document(say("machine", "history", "Petrel", "--limit", "2", "--json"), "history")
    assert ([line["number"] for line in page["lines"]], page["before"]) == ([5, 4], 4)
    last = document(say("machine", "history", "Petrel", "--limit", "3", "--before", "4", "--json"), "history")
    assert ([line["number"] for line in last["lines"]], last["before"]) == ([3, 2, 1], None)
    whole = document(say("machine", "line", page["lines"][0]["key"][:12], "--json"), "entry")
    assert whole["replaces"] == wrong["key"]
    assert "withdraws" in say("machine", "line", whole["key"])
    document(say("machine", "log", "--kinds", "--json"), "kinds")


def test_rechecks_are_owed_until_done(say):
    say("machine", "log", "Petrel", "adjustment", "what=contact 3 gap", "recheck=contact 4 gap", "recheck=speed")
    say("machine", "log", "Petrel", "recheck", "what=Contact 4 gap", "state=done")
    shown = document(say("machine", "show", "Petrel", "--json"), "machine")
    assert [(e["body"]["what"], e["body"]["because"]) for e in shown["owed"]] == [("speed", "after: contact 3 gap")]
    assert "is owed: speed" in say("machine", "log", "Petrel", "recheck", "what=x", "state=done", code=4)
    assert "no kind" in say("machine", "log", "Petrel", "adjustmnt", code=2)
    assert "needs 'what'" in say("machine", "log", "Petrel", "adjustment", code=4)
