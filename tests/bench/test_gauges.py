"""Gauges: readings go box by box in the order of the work, what is outside is said, undo takes back."""

import pytest

SHEET = """
machine = "Petrel"
source = { document = "made up for this test", standing = "owner's choice" }

[[requirement]]
id = "end-play"
station = "shaft"
what = "Main shaft end-play"
stage = "end-play"
limit = "both"
unit = "mm"
test = { low = 0.05, high = 0.15 }
gauge_u = 0.01
between = ["collar", "bearing"]
upsets = ["gap"]

[[requirement]]
id = "gap"
station = "contacts"
what = "Contact gap"
stage = "clearance"
limit = "both"
unit = "mm"
test = { low = 0.20, high = 0.40 }
gauge_u = 0.01
positions = ["contact 1", "contact 2"]
depends_on = ["end-play"]
"""


@pytest.fixture
def gauges(caller, petrel):
    path = f"/machines/{petrel}/gauges"

    def act(action, **fields):
        return caller.post(f"{path}/{action}.json", data=fields, headers={"x-bench-key": caller.key})

    act.page = lambda **query: caller.get(f"{path}.json", params=query).json()
    act.caller, act.path = caller, path
    assert act("sheet", text=SHEET).status_code == 200
    return act


def state(page, id_):
    return next(r["state"] for r in page["order"] if r["id"] == id_)


def test_enter_goes_from_box_to_box_in_the_order_of_the_work(gauges):
    assert gauges.page()["now"]["id"] == "end-play"
    see = gauges("take", id="end-play", reading="0.10").json()["see"]
    assert "id=gap&position=contact%201" in see
    see = gauges("take", id="gap", position="contact 1", reading="0,30").json()["see"]
    assert "position=contact%202" in see
    assert gauges("take", id="gap", position="contact 2", reading="0.30").json()["see"].endswith("/gauges")
    page = gauges.page()
    # by hand: 0.10 +/- 0.02 in 0.05 .. 0.15 and 0.30 +/- 0.02 in 0.20 .. 0.40
    assert [state(page, id_) for id_ in ("end-play", "gap")] == ["within", "within"]
    assert page["now"] is None
    assert gauges.caller.get(gauges.path).status_code == 200


def test_outside_not_shown_and_a_stack_of_leaves(gauges):
    gauges("take", id="end-play", reading="0.20")
    assert state(gauges.page(), "end-play") == "outside"
    gauges("take", id="end-play", reading="0.10 0.20")
    assert state(gauges.page(), "end-play") == "not shown"
    assert gauges("take", id="gap", position="contact 1", reading="0.10+0.20").status_code == 200


def test_a_change_owes_rechecks_and_undo_takes_it_back(gauges, bench, petrel):
    for box in (("end-play", "", "0.1"), ("gap", "contact 1", "0.3"), ("gap", "contact 2", "0.3")):
        gauges("take", id=box[0], position=box[1], reading=box[2])
    assert gauges("change", id="end-play", changed="collar in by a hair").status_code == 200
    assert {r["id"] for r in gauges.page()["recheck"]} == {"end-play", "gap"}
    written = bench.book.machine(petrel).entries
    assert gauges("undo").status_code == 200
    page = gauges.page()
    assert page["recheck"] == []
    assert state(page, "gap") == "within"
    assert bench.book.machine(petrel).entries == written + 1, "undo adds a line, it rubs nothing out"


@pytest.mark.parametrize("typed", ["", "about a hair", "0.2 0.1", "1 2 3 4", "<script>", "y"])
def test_what_is_no_reading_is_refused_and_not_written(gauges, bench, petrel, typed):
    before = bench.book.machine(petrel).entries
    assert gauges("take", id="end-play", reading=typed).status_code == 422
    assert bench.book.machine(petrel).entries == before


def test_a_sheet_with_faults_is_refused_with_each_of_them(gauges):
    refused = gauges("sheet", text=SHEET.replace('unit = "mm"', 'unit = "cubit"'))
    assert refused.status_code == 422
    assert "cubit" in refused.json()["says"]


def test_without_a_sheet_the_page_asks_for_one(caller, petrel):
    page = caller.get(f"/machines/{petrel}/gauges")
    assert page.status_code == 200
    assert "Bring in a sheet" in page.text


def test_a_reading_typed_in_inches_is_judged_as_such(gauges):
    gauges.caller.post("/units", data={"units": "inch", "back": "/"})
    assert "Reading, inches" in gauges.caller.get(gauges.path).text
    # by hand: 0.004 in = 0.1016 mm lies in 0.05 .. 0.15 mm; 0.008 in = 0.2032 mm does not
    gauges("take", id="end-play", reading="0.004", unit="in")
    assert state(gauges.page(), "end-play") == "within"
    gauges("undo")
    gauges("take", id="end-play", reading="0.008", unit="in")
    assert state(gauges.page(), "end-play") == "outside"


def test_what_is_left_is_counted_and_what_is_done_is_folded(gauges):
    left = gauges.page()["left"]
    assert (left["count"], left["of"], left["next"]["id"]) == (2, 2, "end-play")
    assert [(g["station"], [r["id"] for r in g["requirements"]]) for g in left["groups"]] == [
        ("shaft", ["end-play"]), ("contacts", ["gap"])]  # fmt: skip
    gauges("take", id="end-play", reading="0.10")
    left = gauges.page()["left"]
    assert (left["count"], left["next"]["id"]) == (1, "gap")
    text = gauges.caller.get(gauges.path, params={"id": "end-play"}).text
    assert "Next: Contact gap" in text
    assert text.index("Done: 1") > text.index("Left:")


BY_EYE = """
machine = "Petrel"
source = { document = "made up for this test", standing = "owner's choice" }

[[requirement]]
id = "squarely"
station = "contacts"
what = "Contact points meet squarely"
stage = "static position"
limit = "flush"
unit = "mm"
test = { high = 0.25 }
quantity = "sideways offset"
gauge = "eye"
"""


def test_a_number_where_the_eye_would_do_is_a_number(gauges, bench, petrel):
    assert gauges("sheet", text=BY_EYE).status_code == 200
    assert gauges("take", id="squarely", reading="9.99").status_code == 200
    # with what it was read nobody said: 9.99 mm without a doubt is shown to be nothing, least of all within
    page = gauges.page(id="squarely")
    assert page["now"]["verdict"]["value"] == pytest.approx(9.99)
    assert state(page, "squarely") != "within"
    before = bench.book.machine(petrel).entries
    for typed in ({"reading": "abc"}, {"reading": "9.99", "eye": "y"}, {"reading": ""}):
        assert gauges("take", id="squarely", **typed).status_code == 422
    assert bench.book.machine(petrel).entries == before
    assert gauges("take", id="squarely", eye="y").status_code == 200
    assert state(gauges.page(), "squarely") == "within"


def test_enter_in_the_box_presses_no_yes(gauges):
    """Each form has either the box or the buttons of yes and no: Enter presses the first button of its form."""
    gauges("sheet", text=BY_EYE)
    page = gauges.caller.get(gauges.path).text
    forms = [form.split("</form>")[0] for form in page.split("<form")[1:]]
    assert sum('name="reading"' in form for form in forms) == 1
    assert sum('name="eye"' in form for form in forms) == 1
    assert not any('name="reading"' in form and 'name="eye"' in form for form in forms)
