"""Formats, sources and sinks of other packages: the page's own example is installed and used, a lacking one refused."""

import re
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from tapewright.errors import InputError, WrongUseError
from tapewright.furniture.plug_ins import CAPTURE_FORMATS, LIVE_SOURCES, SIGNAL_FORMATS, SINKS, from_outside
from tapewright.line.command import read
from tapewright.recordings.files.formats import every_format
from tapewright.recordings.files.read import read_recordings
from tapewright.recordings.live import sources
from tapewright.recordings.live.asked import Asked
from tapewright.sender.files.formats import format_of
from tapewright.sender.sinks import sinks

PAGE = Path(__file__).parents[2] / "docs" / "how-to" / "add-a-format.md"
DEVICE = """
KIND, WHAT, EXAMPLE = "udp", "made up", "udp:192.168.1.20"
def unavailable(): return ""
def found(): return ()
def open_source(asked): return ("source", asked.where)
def open_sink(asked): return ("sink", asked.where)
"""
WRITER = "WHAT, CONTENTS, RATE_HZ = 'made up', ('samples',), 8000.0\ndef write(path, composed, progress): pass\n"


@pytest.fixture
def install(tmp_path, monkeypatch):
    """Return a function that puts modules where Python and importlib.metadata find them."""

    def put(modules, points):
        for name, text in modules.items():
            (tmp_path / f"{name}.py").write_text(text)
        told = "".join(f"[{group}]\n{name} = {module}\n" for group, name, module in points)
        folder = tmp_path / "mine-1.dist-info"
        folder.mkdir()
        (folder / "METADATA").write_text("Metadata-Version: 2.1\nName: mine\nVersion: 1\n")
        (folder / "entry_points.txt").write_text(told)
        from_outside.cache_clear()

    monkeypatch.syspath_prepend(str(tmp_path))
    before = set(sys.modules)
    yield put
    from_outside.cache_clear()
    for name in {"pulses_of_a_test", "device_of_a_test", "writer_of_a_test"} & (set(sys.modules) - before):
        del sys.modules[name]


def test_the_capture_format_of_the_page(tmp_path, install):
    install(
        {"pulses_of_a_test": re.search(r"```python\n(.*?)```", PAGE.read_text(), re.S)[1]},
        [(CAPTURE_FORMATS, "pulses", "pulses_of_a_test")],
    )
    (tmp_path / "a").write_text("PULSES\n100000\n122000\n")
    (only,) = read_recordings(tmp_path / "a")
    assert only.edges.times_s == pytest.approx([0.1, 0.122])
    assert [each.NAME for each in every_format()][-3:] == ["pulses", "csv", "raw"]
    assert "PULSES" in CliRunner().invoke(read, ["--help"]).output
    (tmp_path / "a").write_text("PULSES x\n")
    with pytest.raises(InputError, match="whole microseconds"):
        read_recordings(tmp_path / "a")


def test_a_source_a_sink_and_a_way_to_write(tmp_path, install):
    install(
        {"device_of_a_test": DEVICE, "writer_of_a_test": WRITER},
        [(LIVE_SOURCES, "udp", "device_of_a_test"), (SINKS, "udp", "device_of_a_test"),
         (SIGNAL_FORMATS, "ones", "writer_of_a_test")],
    )  # fmt: skip
    assert sources.open_source("udp:192.168.1.20", Asked()) == ("source", "192.168.1.20")
    assert "udp" in [offer.kind for offer in sources.on_offer()]
    assert "udp" in [offer.kind for offer in sinks.on_offer()]
    assert format_of(Path("a.ones")).RATE_HZ == 8000.0
    with pytest.raises(WrongUseError, match=r"\.ones"):
        format_of(Path("a.twos"))


@pytest.mark.parametrize(
    ("text", "words"), [("NAME = 'x'\n", "no LABEL"), ("import nothing_of_that_name\n", "ModuleNotFoundError")]
)
def test_what_is_lacking_is_said_with_the_package(install, text, words):
    install({"pulses_of_a_test": text}, [(CAPTURE_FORMATS, "x", "pulses_of_a_test")])
    with pytest.raises(InputError, match=rf"entry point 'x' of mine.*{words}"):
        every_format()
