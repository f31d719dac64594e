"""The live page in a real browser: start, needles, hold, a turn by the keyboard alone, into the book."""

import pytest

from bench.barriers import barriers


@pytest.mark.slow
def test_watch_hold_turn_and_stop(look, petrel, pictures):
    page = look(f"{petrel}/live", "tablet")
    page.wait_for_selector("#source option[value=practice]", state="attached")
    page.fill("#where", "petrel")
    page.click("#start button")
    page.wait_for_selector(".needle.moved", timeout=30_000)
    page.wait_for_selector("text=/Contact 3 closes .* ms late/", timeout=30_000)
    assert barriers(page) == []
    page.screenshot(path=pictures / "live-light.png", full_page=True)
    page.keyboard.press("h")
    page.wait_for_selector("#held:visible")
    stood = page.inner_text("#count")
    page.wait_for_timeout(700)
    assert page.inner_text("#count") == stood, "held means held"
    page.keyboard.press("h")
    page.wait_for_timeout(300)
    assert int(page.inner_text("#count")) > int(stood), "nothing was lost behind it"
    page.keyboard.press("t")
    page.keyboard.type("screw B a quarter")
    page.keyboard.press("Enter")
    page.wait_for_selector("#trials >> text=screw B a quarter")
    page.wait_for_selector("#trials >> text=/nothing is shown|after;/", timeout=30_000)
    page.emulate_media(color_scheme="dark")
    page.reload()
    page.wait_for_selector(".needle .before:visible", timeout=10_000)
    assert barriers(page) == []
    page.screenshot(path=pictures / "live-dark.png", full_page=True)
    wide = page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, "nothing sticks out"
    page.click("#stop")
    page.click("text=See the figures of the whole watch", timeout=30_000)
    page.wait_for_selector("text=/contact 3 closes/i")


@pytest.mark.slow
def test_a_page_whose_bench_is_gone_says_so_until_it_is_back(browser, address, key, bench):
    heron = f"/machines/{bench.book.machine('Heron').key}/live"
    assert key.post(f"{heron}/start.json", data={"source": "practice", "where": "heron"}).status_code == 200
    context = browser.new_context(base_url=address)
    try:
        context.route("**/live/events", lambda route: route.abort())
        page = context.new_page()
        page.goto(heron)
        page.wait_for_selector("#gone:visible")
        context.unroute("**/live/events")
        page.wait_for_selector("#gone", state="hidden", timeout=15_000)
        page.wait_for_selector(".needle.moved", timeout=30_000)
    finally:
        context.close()
        key.post(f"{heron}/stop.json")
