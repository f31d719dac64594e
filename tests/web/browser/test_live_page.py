"""The live page in a real browser: start, needles, hold, a turn by the keyboard alone, into the book."""

import pytest

from web.barriers import barriers


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

