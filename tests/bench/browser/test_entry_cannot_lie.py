"""Keys pressed in a real browser: Enter gives the number in the box, never an answer that nobody gave."""

import secrets

from playwright.sync_api import expect

from tapewright.bench.gauging import bring_sheet
from tapewright.book.keep_result import begin_machine
from tapewright.gauges.files.on_disk import built_in_bytes


def test_enter_in_a_box_beside_yes_and_no_gives_the_number(look, bench):
    key = secrets.token_hex(16)
    begin_machine(bench.book, key, {"name": f"Spare punch {key[:6]}"})
    bring_sheet(bench.book, key, "petrel.toml", built_in_bytes("petrel"), "", "")
    where = f"/machines/{key}/gauges?id=contact-alignment"
    page = look(where)
    expect(page.locator('button[name="eye"]')).to_have_count(2)
    page.fill("#reading", "9.99")
    page.press("#reading", "Enter")
    expect(page.locator("#says")).to_contain_text("Contact points meet squarely")
    newest = look(where).locator("ol.log li").first
    expect(newest).to_contain_text("9.99")
    expect(newest).not_to_contain_text("yes")
