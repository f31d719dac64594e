"""What is open is counted once: shelf, machine, gauges and proof say the same, and the proof lists as many points."""

import re

from tapewright.bench.gauging import add, bring_sheet
from tapewright.book.entry import NewEntry
from tapewright.book.keep_result import log_line
from tapewright.gauges.files.on_disk import built_in_bytes
from tapewright.gauges.journal import Entry


def counts(caller, machine):
    """Return what each page says is open."""
    at = {name: caller.get(f"/machines/{machine}{path}.json").json() for name, path in
          (("machine", ""), ("gauges", "/gauges"), ("proof", "/proof"))}  # fmt: skip
    said = {name: document["open"] for name, document in at.items()}
    said["machine"] = said["machine"]["counts"]
    [shelf] = [m["open"] for m in caller.get("/shelf.json").json()["machines"] if m["key"] == machine]
    return {name: [each["says"] for each in there] for name, there in said.items()} | {"shelf": shelf}, at


def test_every_page_counts_the_same(caller, bench, petrel):
    bring_sheet(bench.book, petrel, "petrel.toml", built_in_bytes("petrel"), "", "")
    add(bench.book, petrel, Entry("shaft-freedom", eye=True), "")
    add(bench.book, petrel, Entry("shaft-freedom", changed="bearing cap"), "")
    change = {"what": "armature freed", "why": "it stuck", "recheck": ["landing time", "contact 4 gap"]}
    log_line(bench.book, NewEntry(petrel, "adjustment", change), [])
    said, at = counts(caller, petrel)
    assert len({tuple(words) for words in said.values()}) == 1, said
    owed = [point for point in at["proof"]["open_points"] if point["kind"] == "recheck"]
    assert f"{len(owed)} to measure again" in said["shelf"]
    assert {"landing time", "contact 4 gap"} <= {each["what"] for each in at["machine"]["open"]["rechecks"]}
    assert len(at["machine"]["open"]["rechecks"]) == len(owed) >= 2
    left = at["gauges"]["left"]
    assert f"{left['count']} of {left['of']} left on the gauges" in said["machine"]
    assert f"{len(at['proof']['not_tested'])} not tested" in said["gauges"]
    page = caller.get(f"/machines/{petrel}").text
    assert "Nothing is owed" not in page
    assert all(words in re.sub(r"<[^>]+>", "", page) for words in said["shelf"])


def test_a_machine_that_is_not_counted_yet_is_not_said_to_be_done(caller, bench, petrel):
    [shelf] = caller.get("/shelf.json").json()["machines"]
    assert shelf["open"] is None
    assert "Nothing is open" not in caller.get("/").text
