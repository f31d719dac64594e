"""`book recompute`: the same where nothing is new; what new limits or another version change, written beside."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tapewright.book.entry import NewEntry
from tapewright.book.store.laid_out import laid_out
from tapewright.book.store.open import open_book
from tapewright.book.what_changed import figure_changes, verdict_changes
from tapewright.terminal.run import run

SCHEMA = json.loads((Path(__file__).parents[2] / "docs/reference/schemas/recompute.json").read_text("utf-8"))
LIMITS = '[[limits]]\ncheck = "marking bias"\nlow = -{0}\nhigh = {0}\nunit = "percent"\nsource = "ours"\n'


@pytest.fixture
def say(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TAPEWRIGHT_BOOK", "workshop.book")

    def said(*words, code=None):
        found = run(list(words))
        printed = capsys.readouterr()
        assert found in ((0, 1, 3) if code is None else (code,)), printed.err
        return printed.err if code == 2 else printed.out

    said("machine", "add", "Petrel")
    said("line", "compose", "RYRYRYRYRYRYRYRYRYRY", "--bias", "10", "-o", "petrel.wav")
    said("line", "read", "petrel.wav", "--nominal", "45.45", "--machine", "Petrel", "--phase", "as found")
    Path("petrel.wav").unlink()  # from here on only the book has it
    return said


@pytest.fixture
def book(say):
    opened = open_book("workshop.book")
    yield opened
    opened.close()


def document(text):
    found = json.loads(text)
    Draft202012Validator(SCHEMA).validate(found)
    return found


def test_the_same_version_finds_the_same(say, book):
    found = document(say("book", "recompute", "--json"))
    assert found["counts"] == {"same": 1, "changed": 0, "cannot": 0}
    assert "1 the same, 0 changed." in say("book", "recompute", "--machine", "petrel")
    assert book.machine("Petrel").entries == 2


def test_new_limits_are_shown_and_written_once(say, book):
    old = book.entries(book.machine("Petrel").key, kinds=("evidence",))[0]
    Path("strict.toml").write_text(LIMITS.format(3))
    looked = document(say("book", "recompute", "--limits", "line=strict.toml", "--dry-run", "--json", code=1))
    assert (looked["written"], looked["evidence"][0]["new_line"]) == (False, None)
    assert book.machine("Petrel").entries == 2
    found = document(say("book", "recompute", "--limits", "line=strict.toml", "--by", "Ada", "--json", code=1))
    (one,) = found["evidence"]
    # the bias was composed as 10 % of a unit, so a limit of 3 % is passed
    assert [(v["check"], v["after"]) for v in one["verdicts"]] == [("marking bias", "outside")]
    new = book.entry(one["new_line"])
    assert (new.new.kind, new.new.rests_on, new.new.by) == ("verdicts", (old.key,), "Ada")
    assert book.raw(new.new.files[0]).read() == Path("strict.toml").read_bytes()
    assert book.entry(old.key) == old
    # once is enough, with the limits given again or still in force
    for more in (["--limits", "line=strict.toml"], []):
        assert document(say("book", "recompute", *more, "--json", code=1))["counts"]["same"] == 1
    Path("wide.toml").write_text(LIMITS.format(30))
    said = say("book", "recompute", "--limits", "line=wide.toml")
    assert "marking bias: outside > within" in said
    assert list(book.newest_evidence(old.new.machine).values()) == [old]


def test_another_version_shows_in_figures(say, book):
    """A result that an older version wrote differently: made here by hand, with the unit one per cent off."""
    old = book.entries(book.machine("Petrel").key, kinds=("evidence",))[0].new
    result = json.loads(json.dumps(old.body["result"]))
    result["speed"]["unit_ms"]["value"] *= 1.01
    book.write([NewEntry(old.machine, "evidence", {**old.body, "result": result}, files=old.files)], {})
    found = document(say("book", "recompute", "--json"))
    assert [each["state"] for each in found["evidence"]] == ["same", "changed"]
    (figure,) = found["evidence"][1]["figures"]
    assert (figure["path"], figure["unit"]) == ("speed.unit_ms", "ms")
    assert figure["before"] / figure["after"] == pytest.approx(1.01)
    assert figure["after"] == pytest.approx(22.0, abs=0.01)


def test_what_cannot_be_measured_again_is_named(say, book):
    old = book.entries(book.machine("Petrel").key, kinds=("evidence",))[0].new
    there, outside = old.body["sources"], [{**old.body["sources"][0], "name": "../../../etc/odd"}]
    odd = [{"nominal": 7}, {"alphabet": "klaxon"}, {"window": "wide"}, {"threshold": {}}]
    steps = [("weigh", {}, there), ("line read", {}, []), *(("line read", setting, outside) for setting in odd)]
    for command, settings, sources in steps:
        body = {**old.body, "steps": {"command": command, "settings": settings}, "sources": sources}
        book.write([NewEntry(old.machine, "evidence", body, files=old.files)], {})
    found = document(say("book", "recompute", "--json", code=4))
    assert found["counts"] == {"same": 1, "changed": 0, "cannot": 6}
    assert all(each["why"] for each in found["evidence"] if each["state"] == "cannot")


@pytest.mark.parametrize("name", ["../../odd.wav", "/odd.wav", "..", "", "C:\\\\odd.wav", "a/b\\odd.wav", "odd\0.wav"])
def test_a_name_from_elsewhere_stays_in_its_folder(book, name):
    source = book.entries(book.machine("Petrel").key, kinds=("evidence",))[0].new.body["sources"][0]
    with laid_out(book, [{**source, "name": name}]) as files:
        (file,) = files.values()
        assert file.parent.parent.name.startswith("tapewright-")
        assert file.parent.resolve() == file.resolve().parent
        assert file.read_bytes() == book.raw(source["sha256"]).read()
    assert not file.exists()


def test_what_makes_no_sense_is_refused(say):
    for word in ("coil=x.toml", "line", "line=none.toml"):
        assert "line=FILE" in say("book", "recompute", "--limits", word, code=2)


def test_changes_between_documents():
    before = {
        "verdicts": [{"check": "a", "state": "within"}, {"check": "b", "state": "outside"}],
        "x": {"value": 1.0, "u": 0.1, "unit": "mm"},
        "list": [{"value": None, "u": None, "unit": "ms"}],
    }
    after = {
        "verdicts": [{"check": "a", "state": "not shown", "why": "few"}, {"check": "c", "state": "within"}],
        "x": {"value": 1.0 + 1e-12, "u": 0.1, "unit": "mm"},
        "list": [{"value": 2.0, "u": 0.2, "unit": "ms"}],
    }
    changes = [(c.check, c.before, c.after) for c in verdict_changes(before, after)]
    assert changes == [("a", "within", "not shown"), ("b", "outside", None), ("c", None, "within")]
    assert [(c.path, c.before, c.after) for c in figure_changes(before, after)] == [("list[0]", None, 2.0)]
    assert verdict_changes(after, after) == figure_changes(after, after) == ()
