"""The page that says "in a moment": nobody is in front of a barrier meanwhile, and the real page comes by itself."""

import time

import pytest

from bench.barriers import barriers


@pytest.mark.slow
def test_a_page_that_takes_longer_says_so_and_comes_by_itself(look, bench, petrel, pictures, monkeypatch):
    slow, of = bench.standings, type(bench.standings).of
    monkeypatch.setattr(type(slow), "of", lambda self, machine: (self is slow and time.sleep(3)) or of(self, machine))
    monkeypatch.setattr(bench.working, "patience_s", 0.02)
    page = look(petrel, "tablet")
    page.wait_for_selector("[data-soon]")
    assert barriers(page) == []
    page.screenshot(path=pictures / "soon.png")
    page.wait_for_selector("text=The next step")
    assert page.locator("[data-soon]").count() == 0
