"""`machine add`, `list`, `show`: on the command line, as documents that keep to their schemas, and what is refused."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tapewright.terminal.run import run

SCHEMAS = Path(__file__).parents[2] / "docs" / "reference" / "schemas"


@pytest.fixture
def say(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("TAPEWRIGHT_BOOK", str(tmp_path / "workshop.book"))

    def said(*words, code=0):
        assert run(list(words)) == code
        printed = capsys.readouterr()
        return printed.err if code else printed.out

    return said


def document(text, name):
    found = json.loads(text)
    Draft202012Validator(json.loads((SCHEMAS / f"{name}.json").read_text("utf-8"))).validate(found)
    return found


def test_documents_keep_to_their_schemas(say):
    added = document(say("machine", "add", "Petrel", "--nominal", "45.45", "--module", "punch", "--json"), "entry")
    assert added["body"] == {"name": "Petrel", "nominal_baud": 45.45, "modules": ["punch"]}
    listed = document(say("machine", "list", "--json"), "machines")
    assert [m["name"] for m in listed["machines"]] == ["Petrel"]
    shown = document(say("machine", "show", "petrel", "--json"), "machine")
    assert shown["machine"] == listed["machines"][0]
    assert [line["says"] for line in shown["lines"]] == ["Petrel"]


def test_what_is_refused_says_what_to_do(say):
    assert "machine add NAME" in say("machine", "list", code=4)
    say("machine", "add", "Petrel")
    assert "taken" in say("machine", "add", "PETREL", code=4)
    assert "There are: Petrel" in say("machine", "show", "Heron", code=4)
    assert "empty" in say("machine", "add", "  ", code=4)
