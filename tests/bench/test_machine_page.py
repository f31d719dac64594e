"""The machine's page: the chain from the evidence, the next step, answers and remedies into the book, undo."""

import pytest

from tapewright.bench.words import bar, length, percent, value


def page(caller, petrel):
    return caller.get(f"/machines/{petrel}.json").json()


def say(caller, path, **fields):
    return caller.post(path, data=fields, headers={"x-bench-key": caller.key})


def test_a_new_machine_has_nothing_shown_and_something_to_do(caller, petrel):
    doc = page(caller, petrel)
    states = {s["state"] for row in doc["chain"].values() for s in row}
    assert states == {"not yet shown"}
    assert doc["next"]["do"]
    assert doc["next"]["minutes"] > 0


def test_an_answer_becomes_an_observation_and_moves_the_chain(caller, bench, petrel):
    done = say(caller, f"/machines/{petrel}/step.json", **{"answer:contact-gap-wide": "yes"})
    assert done.status_code == 200, done.text
    [entry] = bench.book.entries(petrel, sort="observation")
    assert entry.new.body["result"]["yes"] == ["contact-gap-wide"]
    states = {s["station"]: s["state"] for s in page(caller, petrel)["chain"]["chain"]}
    assert states["transmitting contact"] in ("outside", "suspect")


def test_the_newest_word_on_a_finding_counts_and_can_be_taken_back(caller, bench, petrel):
    for said in ("yes", "no"):
        say(caller, f"/machines/{petrel}/questions/take", **{"answer:contact-gap-wide": said})
    newest = bench.book.entries(petrel, sort="observation")[0]
    known = caller.get(f"/machines/{petrel}/questions.json").json()["answered"]
    assert [a["state"] for a in known if a["finding"] == "contact-gap-wide"] == ["absent"]
    say(caller, f"/machines/{petrel}/undo", entry=newest.key)
    known = caller.get(f"/machines/{petrel}/questions.json").json()["answered"]
    assert [a["state"] for a in known if a["finding"] == "contact-gap-wide"] == ["present"]


def test_a_step_under_power_wants_its_cautions_read(caller, bench, petrel):
    model = bench.standings.of(bench.book.machine(petrel)).model
    test = next(t for t in model.tests.values() if t.risk == "loop" and t.cautions and model.shown_by(t.name))
    answers = {"test": test.name, f"answer:{model.shown_by(test.name)[0]}": "no"}
    refused = say(caller, f"/machines/{petrel}/step.json", **answers)
    assert refused.status_code == 422
    assert "cautions" in refused.json()["says"]
    assert bench.book.entries(petrel, kinds=("evidence", "caution")) == ()
    assert say(caller, f"/machines/{petrel}/step.json", **answers, **{"cautions-read": "yes"}).status_code == 200
    said = bench.book.entries(petrel, kinds=("caution",))
    assert [line.new.body["acknowledged"] for line in said] == [True] * len(test.cautions)


def test_a_remedy_in_vain_is_not_proposed_again_and_one_that_helped_closes_the_chapter(caller, bench, petrel):
    say(caller, f"/machines/{petrel}/step", **{"answer:contact-gap-wide": "yes"})
    cause = page(caller, petrel)["causes"][0]
    model = bench.standings.of(bench.book.machine(petrel)).model
    name = next(c.name for c in model.causes.values() if c.says == cause["says"])
    read = {"cautions-read": "yes"}
    assert say(caller, f"/machines/{petrel}/step.json", remedy=name, outcome="no", **read).status_code == 200
    after = next((c for c in page(caller, petrel)["causes"] if c["says"] == cause["says"]), {"probability": 0})
    assert after["probability"] < cause["probability"]
    assert say(caller, f"/machines/{petrel}/step.json", remedy=name, outcome="helped", **read).status_code == 200
    states = {s["state"] for row in page(caller, petrel)["chain"].values() for s in row}
    assert "outside" not in states


@pytest.mark.parametrize("fields", [
    {}, {"answer:no-such-finding": "yes"}, {"answer:contact-gap-wide": "perhaps"},
    {"remedy": "magic", "outcome": "helped"}, {"answer:contact-gap-wide": "yes", "nothing": "pressed"},
])  # fmt: skip
def test_what_makes_no_sense_is_refused_and_nothing_written(caller, bench, petrel, fields):
    before = bench.book.machine(petrel).entries
    assert say(caller, f"/machines/{petrel}/step.json", **fields).status_code == 422
    assert bench.book.machine(petrel).entries == before


def test_own_words_lead_to_findings(caller, petrel):
    matches = caller.get(f"/machines/{petrel}/questions.json", params={"find": "contact gap"}).json()["matches"]
    assert any("gap" in m["says"].lower() for m in matches)


def test_a_note_is_kept_as_it_was_written(caller, bench, petrel):
    say(caller, f"/machines/{petrel}/note", text="<b>gummed</b> & stiff")
    assert bench.book.entries(petrel, kinds=("note",))[0].new.body["text"] == "<b>gummed</b> & stiff"
    assert "&lt;b&gt;gummed" in caller.get(f"/machines/{petrel}").text


def test_units_are_metric_or_inch():
    # 25.4 mm = 1 in exactly (international inch, 1959); worked by hand
    assert value({"value": 0.254, "u": 0.00127, "unit": "mm"}, "inch") == "0.01000 in"
    assert value({"value": 21.98, "u": 0.02, "unit": "ms"}, "inch") == "21.98 ms"
    assert length(2.54, "mm", "inch") == "0.1 in"


def test_the_bar_places_the_reading_where_it_is():
    drawn = bar({"low": 0.2, "high": 0.4, "value": 0.3, "u": 0.05, "unit": "mm"})
    assert drawn["at"] == 150
    assert drawn["from"] == drawn["low"]
    assert drawn["to"] == drawn["low"] + drawn["width"]
    assert bar({"low": None, "high": None, "value": 1.0}) is None


def test_a_share_is_never_called_certain():
    assert [percent(x) for x in (0, 0.001, 0.5, 0.999, 1)] == ["0 %", "under 1 %", "50 %", "over 99 %", "100 %"]


def test_the_shelf_tells_where_a_machine_stands_once_that_is_known(caller, petrel):
    say(caller, f"/machines/{petrel}/step", **{"answer:contact-gap-wide": "yes"})
    page(caller, petrel)
    [shown] = caller.get("/shelf.json").json()["machines"]
    assert {"title": "transmitting contact", "state": "outside"} in shown["stands"]
    assert "Transmitting contact" in caller.get("/").text
