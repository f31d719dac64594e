"""Entries in a real browser: refused beside the box, kept over a reload, sent once when the bench is back, few keys."""

import secrets

import pytest
from playwright.sync_api import expect

from tapewright.bench.gauging import bring_sheet
from tapewright.book.keep_result import begin_machine
from tapewright.gauges.files.on_disk import built_in_bytes

READINGS, MOST_KEYS = 14, 60


@pytest.fixture
def machine(bench):
    """The path of a new machine with Petrel's sheet."""
    key = secrets.token_hex(16)
    begin_machine(bench.book, key, {"name": f"Tern {key[:6]}"})
    bring_sheet(bench.book, key, "petrel.toml", built_in_bytes("petrel"), "", "")
    return f"/machines/{key}"


@pytest.fixture
def page(browser, address):
    """A page in a browser of its own that may be refused something, and may lose the bench."""
    with browser.new_context(base_url=address, viewport={"width": 1280, "height": 800}) as context:
        yield context.new_page()


def notes(bench, machine):
    lines = bench.book.entries(machine.split("/")[-1], kinds=("note",))
    return [entry.new.body["text"] for entry in reversed(lines)]


def test_a_refusal_stands_beside_the_box_with_the_text_in_it(page, machine):
    where = f"{machine}/gauges?id=contact-alignment"
    page.goto(where)
    page.fill("#reading", "nine point nine")
    page.press("#reading", "Enter")
    refusal = page.locator("form", has=page.locator("#reading")).locator(".refusal")
    expect(refusal).to_contain_text("expected a number")
    assert page.input_value("#reading") == "nine point nine"
    assert page.url.endswith(where)
    assert page.evaluate("document.activeElement.id") == "reading"
    expect(page.locator("#reading")).to_have_attribute("aria-invalid", "true")


def test_without_script_a_refusal_stands_on_the_same_page(browser, address, machine):
    with browser.new_context(base_url=address, java_script_enabled=False) as context:
        page = context.new_page()
        page.goto(f"{machine}/gauges?id=contact-alignment")
        page.fill("#reading", "9,9,9")
        page.press("#reading", "Enter")
        expect(page.get_by_role("alert")).to_contain_text("9,9,9")
        expect(page.locator("#now-title")).to_contain_text("Contact points meet squarely")


def test_what_was_typed_is_there_after_a_reload(page, machine, bench):
    page.goto(machine)
    page.fill("#note", "oil on the pole")
    page.reload()
    expect(page.locator("#note")).to_have_value("oil on the pole")
    page.press("#note", "Enter")
    expect(page.locator("#says")).to_contain_text("The note is in the book.")
    expect(page.locator("#note")).to_have_value("")
    assert notes(bench, machine) == ["oil on the pole"]


def test_entries_wait_for_the_bench_and_are_sent_once(page, machine, bench):
    page.goto(machine)
    page.context.set_offline(True)
    for words in ("first", "second"):
        page.fill("#note", words)
        page.press("#note", "Enter")
        expect(page.locator("#note")).to_have_value("")
    expect(page.locator("#says")).to_contain_text("2 entries are kept in this browser")
    assert notes(bench, machine) == []
    page.context.set_offline(False)
    expect(page.locator("#says")).to_contain_text("The note is in the book.", timeout=20_000)
    assert notes(bench, machine) == ["first", "second"]


def test_an_answer_lost_on_its_way_does_not_write_twice(page, machine, bench):
    lost = []

    def lose_the_first(route):
        if lost:
            route.continue_()
            return
        lost.append(route.fetch().status)  # the bench has it; the browser never hears so
        route.abort()

    page.goto(machine)
    page.route("**/note.json", lose_the_first)
    page.fill("#note", "only once")
    page.press("#note", "Enter")
    expect(page.locator("#says")).to_contain_text("The note is in the book.", timeout=20_000)
    assert lost == [200]
    assert notes(bench, machine) == ["only once"]


def test_the_last_note_can_be_taken_back_from_any_page(page, machine, bench):
    page.goto(machine)
    page.fill("#note", "wrong machine")
    page.press("#note", "Enter")
    expect(page.locator("#says")).to_contain_text("in the book")
    page.goto(f"{machine}/gauges")
    page.get_by_text("Last entries, to take one back").click()
    page.get_by_label("Why").fill("it was Heron")
    page.get_by_role("button", name="Take back entry 1").click()
    expect(page.locator("#says")).to_contain_text("Taken back: wrong machine (it was Heron)")
    assert page.locator(".last-entries").count() == 0


def test_fourteen_readings_in_few_keys(page, machine, bench):
    page.goto(f"{machine}/gauges")
    keys = 0
    for _ in range(READINGS):
        before = page.inner_text("#now-title")
        typed = ["y"] if page.locator("[data-key=y]").count() else [".", "2", "Enter"]
        for key in typed:
            page.keyboard.press(key)
        keys += len(typed)
        expect(page.locator("#now-title")).not_to_have_text(before)
        page.wait_for_selector("html.scripted")
    assert keys <= MOST_KEYS
    [newest] = bench.book.entries(machine.split("/")[-1], kinds=("evidence",), sort="gauge", limit=1)
    assert bench.book.counts(machine.split("/")[-1])["evidence"] == READINGS
    assert newest.new.body["result"]["machine"]


def test_inches_are_shown_where_one_was(page, machine):
    page.goto(f"{machine}/gauges?id=contact-alignment")
    page.get_by_role("button", name="Show inches").click()
    expect(page.get_by_role("button", name="Show millimetres")).to_be_visible()
    assert "id=contact-alignment" in page.url
    expect(page.locator("#reading-how")).to_contain_text("0.0095")
    page.get_by_role("button", name="Show millimetres").click()


@pytest.mark.parametrize("size", [(1280, 800), (820, 1180), (390, 844)], ids=str)
def test_the_box_and_its_key_are_on_the_first_screen(page, machine, size):
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(f"{machine}/gauges?id=contact-alignment")
    for place in ("#reading", ".enter", "[data-key=n]"):
        box = page.locator(place).bounding_box()
        assert box["y"] + box["height"] <= size[1], place
