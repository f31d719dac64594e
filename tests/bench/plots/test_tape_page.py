"""The tape page: its pictures against the one that was sent, its numbers against the punch's known faults."""

import cv2
import httpx
import numpy as np
import pytest

from tapewright.bench.traces.tape_study import STEPS, straight_grid
from tapewright.terminal.run import run

from .conftest import TAPE_TEXT as TEXT
from .conftest import until

#: Petrel's punch has a weak pin in this track (what the practice machine says of itself).
WEAK_TRACK = 1


@pytest.fixture(scope="module")
def caller(live_bench):
    return live_bench[1].client


def picture(answer):
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "image/jpeg"
    return cv2.imdecode(np.frombuffer(answer.content, np.uint8), cv2.IMREAD_GRAYSCALE).astype(float)


def test_the_weak_pin_comes_first(caller, tape):
    twin = caller.get(tape + ".json").json()
    assert twin["format"] == "tapewright/bench/tape/1"
    tracks = twin["strips"][0]["worst"]
    assert [bool(t["holes"][0]["state"] == "partial") for t in tracks] == [t["track"] == WEAK_TRACK for t in tracks]
    opened = [h["open_fraction"] for h in tracks[WEAK_TRACK - 1]["holes"] if h["state"] == "partial"]
    assert opened == sorted(opened)
    page = caller.get(tape).text
    assert "partial" in page
    assert TEXT in page


def test_a_part_of_the_picture_is_that_part(caller, tape, scan):
    whole = cv2.imread(str(scan), cv2.IMREAD_GRAYSCALE).astype(float)
    got = picture(caller.get(f"{tape}/picture?x=100&y=40&w=300&h=200&columns=300"))
    assert np.abs(got - whole[40:240, 100:400]).mean() < 4  # what JPEG changes
    small = picture(caller.get(f"{tape}/picture?x=0&y=0&w={whole.shape[1]}&h={whole.shape[0]}&columns=400"))
    assert small.shape[1] == 400
    assert small.mean() == pytest.approx(whole.mean(), abs=2)


def test_laid_straight_the_holes_stand_on_the_grid(caller, tape):
    """Dark at each hole the practice machine punched, light where there is none; the scan is turned by 2 degrees."""
    twin = caller.get(tape + ".json").json()
    strip, step = twin["result"]["strips"][0], 2 * twin["step"]
    got = picture(caller.get(f"{tape}/straight?strip=0&first=0&rows=20"))
    assert got.shape == (7 * step, 20 * step)
    feed = [got[3 * step, int((n + 0.5) * step)] for n in range(20)]
    inside = {True: [], False: []}
    for n, row in enumerate(strip["rows"][:20]):
        for track, k in STEPS.items():
            if row["holes"][track - 1]["state"] != "partial":
                inside[row["code"][track - 1] == "1"].append(got[round((k + 3) * step) + 5, int((n + 0.5) * step) + 5])
    assert max(inside[True]) < min(inside[False])
    assert np.mean(feed) < np.mean(inside[False])


def test_a_hole_close_up(caller, tape):
    hole = caller.get(tape + ".json").json()["strips"][0]["worst"][2]["holes"][0]
    got = picture(caller.get(f"{tape}/hole?strip=0&row={hole['row']}&track=3&side=100"))
    assert got.shape == (100, 100)
    assert got[45:55, 45:55].mean() < got.mean()


@pytest.mark.parametrize("query", [
    "picture?x=0&y=0&w=10", "picture?x=99999&y=0&w=9&h=9&columns=9", "picture?x=a&y=0&w=9&h=9&columns=9",
    "straight?strip=7&first=0&rows=5", "straight?strip=0&first=0&rows=100000", "hole?strip=0&row=0&track=6&side=50",
    "hole?strip=0&row=99999&track=1&side=50", "hole?strip=-1&row=1&track=1&side=50",
    "hole?strip=0&row=1&track=1&side=9999999",
])  # fmt: skip
def test_what_is_not_there_is_refused_in_words(caller, tape, query):
    answer = caller.get(f"{tape}/{query}")
    assert answer.status_code == 404
    assert "expected" in answer.text


def test_without_a_tape_it_asks_for_one(caller, live_bench):
    empty = live_bench[1].machine("Heron without a tape")
    assert "drop it here" in caller.get(f"/machines/{empty}/tape/newest").text
    assert caller.get(f"/machines/{empty}/tape/newest/picture?x=0&y=0&w=9&h=9&columns=9").status_code == 404


def test_the_grid_is_even_where_one_step_is_short():
    """A turned tape whose step 20 is short by a tenth: the even grid shows the fault instead of following it."""
    along, across = 20 * np.exp(0.1j), 20j * np.exp(0.1j)
    place = np.arange(60.0) - 0.1 * (np.arange(60) >= 20)
    rows = [
        {"x_px": z.real, "y_px": z.imag,
         "holes": [{"x_px": (z + k * across).real, "y_px": (z + k * across).imag} for k in STEPS.values()]}
        for z in 100 + 50j + place * along
    ]  # fmt: skip
    grid = straight_grid(rows)
    assert np.abs(grid.across - across).max() < 1e-9
    steps = np.abs(np.diff(grid.centre)) / 20
    assert steps.min() > 0.99  # 0.9 in the tape itself
    ends = grid.at(np.array([-1.0, 60.0]), np.zeros(2))
    assert np.abs(ends[0] - (100 + 50j - along)) < 0.5


def test_choosing_a_hole_by_click_and_by_keys(look, tape):
    page = look(tape)
    until(page, "() => document.getElementById('tape-box').dataset.drawn > 0")
    assert "partial" in page.inner_text("#hole-title")  # opens on the first that is
    page.locator(".hole").nth(3).click()
    assert page.locator(".hole").nth(3).get_attribute("aria-pressed") == "true"
    assert "%" in page.inner_text("#hole-says")
    until(page, "() => document.getElementById('hole-picture')?.complete")
    box = page.locator("#tape-box")
    box.focus()
    before = page.inner_text("#hole-title")
    page.keyboard.press("ArrowRight")
    after = page.inner_text("#hole-title")
    assert int(after.split("row ")[1].split(",")[0]) == int(before.split("row ")[1].split(",")[0]) + 1
    for key in ("ArrowDown", "ArrowUp", "n", "p", "+", "-", "Home"):
        page.keyboard.press(key)
    page.keyboard.press("n")
    assert "partial" in page.inner_text("#hole-title")
    # the chosen hole is in the middle now: a click there chooses it again, a click one row on does not
    at = box.bounding_box()
    page.mouse.click(at["x"] + at["width"] / 2 + 30, at["y"] + at["height"] / 2)
    # however quickly the keys came, one picture at least was fetched anew
    until(page, "() => document.getElementById('tape-box').dataset.drawn > 1")
    assert page.inner_text("#hole-title").startswith("Track ")


@pytest.mark.parametrize("size", [(1180, 820), (820, 1180), (390, 844)])
def test_nothing_sticks_out(look, tape, size):
    page = look(tape, viewport={"width": size[0], "height": size[1]}, color_scheme="dark")
    until(page, "() => document.getElementById('tape-box').dataset.drawn > 0")
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]


def test_line_and_tape_of_one_event(live_bench, tmp_path):
    sender = live_bench[1]
    machine = sender.machine("Heron, line and tape")
    for words, name in ((["line", "compose", TEXT], "line.wav"), (["tape", "practice", TEXT], "tape.png")):
        assert run([*words, "-o", str(tmp_path / name)]) == 0
        sender.send(machine, tmp_path / name)
    client: httpx.Client = sender.client
    twin = client.get(f"/machines/{machine}/tape/newest.json").json()["against_line"]
    assert twin["one_event"]
    assert twin["places"] == []
    assert twin["compared"] == len(TEXT)
    assert "are the same on both" in client.get(f"/machines/{machine}/tape/newest").text


def test_the_strip_is_printed_in_lines_that_miss_no_row(caller, tape):
    strip = caller.get(f"{tape}.json").json()["strips"][0]
    shown = [letter["row"] for piece in strip["pieces"] for letter in piece["letters"]]
    assert shown == list(range(strip["rows"]))
    assert all(len(piece["points"].split()) >= piece["rows"] for piece in strip["pieces"])


def test_on_paper_the_whole_strip_is_seen(look, tape):
    """Its pieces stand one below the other, none wider than the paper: else a browser cuts, or shrinks the page."""
    page = look(tape)
    page.get_by_text("The strip laid straight").wait_for()
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 680, "height": 1000})
    pieces = page.locator(".straight-piece")
    ends = [pieces.nth(n).bounding_box() for n in range(pieces.count())]
    assert all(box["x"] + box["width"] <= 681 for box in ends)
    assert len({round(box["y"]) for box in ends}) == len(ends)
