"""What a page's twin says is what the command says of the same book, key by key."""

import json

import pytest

from tapewright.terminal.run import run

TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG RYRYRYRYRY"


@pytest.fixture
def command(tmp_path, caller, petrel, capsys):
    """Runs a command on the bench's own book, with Petrel's line as found and as left in it; gives its JSON."""
    book, capture = ["--book", str(tmp_path / "workshop.book")], str(tmp_path / "line.csv")
    for phase, late in (("as found", "3=1.5"), ("as left", "3=0")):
        run(["line", "compose", TEXT, "--late", late, "--scatter", "1", "-o", capture])
        run(["line", "read", capture, "--nominal", "45.45", "--expect", TEXT, "--machine", "Petrel", "--phase", phase,
             *book])  # fmt: skip

    def said(*words):
        capsys.readouterr()
        run([*words, *book, "--json"])
        return json.loads(capsys.readouterr().out)

    return said


def test_compare_proof_and_advice(command, caller, petrel):
    here = f"/machines/{petrel}"
    compared = caller.get(f"{here}/compare.json").json()["compared"]
    assert compared == command("machine", "compare", "Petrel")
    assert next(row["what"] for row in compared["rows"] if row["state"] == "differs") == "closing of contact 3, late"

    twin, proof = caller.get(f"{here}/proof.json").json(), command("machine", "prove", "Petrel")
    for key in ("as_of", "first_page", "open_points", "plan", "cautions"):
        assert twin[key] == proof[key], key
    gaps = [{k: v for k, v in gap.items() if k != "way"} for gap in twin["not_tested"]]
    assert gaps == proof["not_tested"], "the page adds the way to close each"

    twin, advice = caller.get(f"{here}.json").json(), command("diagnose", "--machine", "Petrel")
    stations = [s for row in ("chain", "below", "beside") for s in twin["chain"][row]]
    assert {(s["station"], s["state"]) for s in stations} == {(s["station"], s["state"]) for s in advice["stations"]}
    assert [c["probability"] for c in twin["causes"]] == [
        c["probability"] for c in advice["causes"][: len(twin["causes"])]]  # fmt: skip
    first = advice["next_tests"][0]["test"] if twin["next"]["kind"] != "remedy" else advice["causes"][0]["cause"]
    assert twin["next"]["name"] == first
