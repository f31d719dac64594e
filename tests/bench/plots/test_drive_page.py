"""The drive page: caution before any number, the plan as the command gives it; a recorded current against its truth."""

import json

import numpy as np
import pytest

from bench.barriers import barriers
from bench.walk import lost_on_the_way, made_wrongly
from tapewright.bench.traces.wire import unpack
from tapewright.practice.coil import CurrentProbe, Feed, MagnetCoil, Pulse, record, run_coil
from tapewright.terminal.run import run

from .conftest import until

DRIVE = {
    "coil.r_ohm": "66", "coil.l_h": "1,7", "coil.pull_in_a": "0.024", "coil.drop_out_a": "0.012", "supply.volts": "120",
    "series.r_ohm": "1934", "line.baud": "45.45", "suppressor.kind": "zener", "suppressor.volts": "100",
}  # fmt: skip


@pytest.fixture(scope="module")
def heron(live_bench):
    return live_bench[1].machine("Heron and its magnet", nominal="45.45")


@pytest.fixture(scope="module")
def caller(live_bench):
    return live_bench[1].client


@pytest.fixture(scope="module", params=[False, True], ids=["free", "stuck"])
def current(request, live_bench, heron, tmp_path_factory):
    """A current of the practice magnet: (path of its page, when the armature really landed in ms or None)."""
    coil = MagnetCoil(42.0, 0.35, 0.5, pull_in_a=0.22, mass_kg=0.03, gap_m=0.6e-3, restitution=0.2, stuck=request.param)
    pulses = [Pulse(0.02 + 0.12 * n, 0.09 + 0.12 * n) for n in range(3)]
    truth = run_coil(coil, Feed(48.0, 38.0, 0.7, 100.0), pulses, 0.38)
    probe = CurrentProbe(noise_a=0.005, volts_per_a=1.0)
    volts = record(truth, probe, np.random.default_rng(3))
    path = tmp_path_factory.mktemp("coil") / "current.csv"
    table = np.column_stack([np.arange(volts.size) / probe.rate_hz, volts])
    np.savetxt(path, table, delimiter=",", header="time (s),shunt (V)", comments="", fmt="%.6g")
    entry = live_bench[1].send(heron, path, what="coil", shunt="1", supply="48", series_ohm="37")
    lands = [land - pulse.on_s for land, pulse in zip(truth.first_landings_s, pulses, strict=True) if land is not None]
    return f"/machines/{heron}/coil/{entry.key}", 1e3 * float(np.mean(lands)) if lands else None


def test_the_caution_stands_before_everything(caller, heron):
    for query in ({}, DRIVE):
        page = caller.get(f"/machines/{heron}/drive", params=query).text
        assert page.index("Before anything is switched on") < page.index('<form class="card"')
        assert "local electrical code" in page


def test_the_plan_is_that_of_the_command(caller, heron, capsys):
    twin = caller.get(f"/machines/{heron}/drive.json", params=DRIVE).json()
    words = ["drive", "plan", "--coil-ohm", "66", "--coil-h", "1.7", "--pull-in", "0.024", "--drop-out", "0.012",
             "--volts", "120", "--series-ohm", "1934", "--baud", "45.45", "--suppressor", "zener",
             "--suppressor-volts", "100", "--json"]  # fmt: skip
    run(words)
    command = json.loads(capsys.readouterr().out)
    assert twin["plan"] == command
    page = caller.get(f"/machines/{heron}/drive", params=DRIVE).text
    assert "220 V" in page
    assert "can kill" in page


def test_a_figure_that_cannot_be_is_named(caller, heron):
    for change, word in (({"coil.r_ohm": "a lot"}, "Coil, ohm"), ({"supply.volts": "-3"}, "supply.volts"),
                         ({"coil.l_h": ""}, "coil.l_h")):  # fmt: skip
        page = caller.get(f"/machines/{heron}/drive", params=DRIVE | change)
        assert page.status_code == 200
        assert word in page.text
        assert "expected" in page.text


def test_what_a_current_says(caller, current):
    path, lands_ms = current
    page, twin = caller.get(path).text, caller.get(path + ".json").json()
    if lands_ms is None:
        assert "The armature did not move" in page
        assert twin["result"]["landing_ms"] is None
    else:
        assert "The armature moved" in page
        landing = twin["result"]["landing_ms"]
        assert abs(landing["value"] - lands_ms) < 2 * landing["u"]
    assert page.index("Before you record again") < page.index("The armature ")
    head, arrays = unpack(caller.get(path + "/trace?columns=100").content)
    assert head["end_s"] == pytest.approx(0.38, rel=0.01)
    assert arrays["high"].max() > 0.4


def test_in_the_browser(look, current, heron):
    page = look(current[0])
    until(page, "() => document.getElementById('trace-box').dataset.drawn > 0")
    until(page, "() => document.getElementById('trace-says').textContent.includes('1 closing')")
    page.get_by_role("button", name="All of it").click()
    until(page, "() => document.getElementById('trace-says').textContent.includes('3 closings')")
    assert [*barriers(page), *made_wrongly(page), *lost_on_the_way(page)] == []
    page.locator("#trace-box").focus()
    for key in ("Home", "n", "p", "+", "-", "End"):
        page.keyboard.press(key)
    plan = look(f"/machines/{heron}/drive", viewport={"width": 390, "height": 844})
    for name, value in DRIVE.items():
        field = plan.locator(f"[name='{name}']")
        field.select_option(value) if name.endswith("kind") else field.fill(value)
    plan.get_by_role("button", name="Plan it").click()
    assert "Opening contact sees" in plan.inner_text("main")
    assert plan.evaluate("document.documentElement.scrollWidth") <= 390
