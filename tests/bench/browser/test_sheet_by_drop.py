"""A machine's sheet dropped on the page, or chosen as a file, stands in the box and is taken from there."""

import re

from playwright.sync_api import expect

from tapewright.gauges.files.on_disk import built_in_bytes

A_SHEET = re.compile(r"[\s\S]{100,}")
"""Text enough for a sheet, lines and all. (A function evaluated in the page would meet its content security policy.)"""
DROP = """(text) => {
  const what = new DataTransfer();
  what.items.add(new File([text], "own.toml"));
  const dropped = new DragEvent("drop", { dataTransfer: what, bubbles: true, cancelable: true });
  document.querySelector("main").dispatchEvent(dropped);
}"""


def test_a_sheet_comes_by_drop_or_as_a_file(look, bench, tmp_path):
    text = built_in_bytes("heron").decode()
    heron = bench.book.machine("Heron").key
    page = look(f"/machines/{heron}/gauges")
    page.wait_for_selector("html.scripted")
    page.evaluate(DROP, text)
    expect(page.locator("#text")).to_have_value(A_SHEET)
    assert page.input_value("#text").strip() == text.strip()
    page.fill("#text", "")
    (tmp_path / "own.toml").write_text(text, encoding="utf-8")
    page.set_input_files("#text-file", tmp_path / "own.toml")
    expect(page.locator("#text")).to_have_value(A_SHEET)
    assert bench.book.entries(heron, kinds=("sheet",)) == (), "nothing is taken before it was looked at"
