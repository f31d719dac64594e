"""The live page's own side: a watch runs beside the bench, pages come and go, what was watched is in the book."""

import asyncio
import json
import sys
import threading
import time

import numpy as np
import pytest

from tapewright.bench.live import watching as watching_module
from tapewright.bench.live.standing import Standing
from tapewright.bench.live.stream import told
from tapewright.bench.live.watching import EVENTS_KEPT, WORDLESS, Order, Watching
from tapewright.terminal.run import run

ORDER = Order("practice:petrel", "45.45", "ita2", {})
BEGUN = {"kind": "source", "source": "a stand-in", "elements": 5, "instrument": []}
SOON_S = 40.0


def act(caller, machine, action, **fields):
    return caller.post(f"/machines/{machine}/live/{action}.json", data=fields, headers={"x-bench-key": caller.key})


def until(true, what):
    end = time.monotonic() + SOON_S
    while not (found := true()):
        assert time.monotonic() < end, f"it never came to {what}"
        time.sleep(0.02)
    return found


def standing(caller, machine):
    return caller.get(f"/machines/{machine}/live.json").json()["watching"]


def test_from_the_first_key_to_the_book(bench, caller, petrel, tmp_path):
    assert standing(caller, petrel) is None
    assert act(caller, petrel, "start", source="practice", where="petrel", nominal="45.45").status_code == 200
    assert act(caller, petrel, "start", source="practice").status_code == 422, "one watch at a time"
    until(lambda: standing(caller, petrel)["characters"] >= 12, "twelve characters")
    act(caller, petrel, "hands-on")
    act(caller, petrel, "trial", label="screw B  a quarter")
    marked = until(lambda: standing(caller, petrel)["trials"], "a marked trial")[0]["marked"]
    assert marked["label"] == "screw B a quarter"
    assert standing(caller, petrel)["before"], "what was keyed before keeps its bands"
    before = standing(caller, petrel)["characters"]
    until(lambda: standing(caller, petrel)["characters"] >= before + 10, "ten more")
    act(caller, petrel, "stop")
    over = until(lambda: (w := standing(caller, petrel))["state"] == "ended" and w, "its end")
    kinds = [entry.new.kind for entry in bench.book.entries(petrel)]
    assert kinds.count("evidence") == kinds.count("trial") == 1
    entry = bench.book.entries(petrel, kinds=("evidence",))[0]
    assert over["see"].endswith(entry.key)
    # the book's own recording, read again from nothing, gives the same figures
    from tapewright.line.from_settings import document, measure

    kept = tmp_path / "again.npy"
    with bench.book.raw(entry.new.files[0]) as raw:
        kept.write_bytes(raw.read())
    again = document(measure({"capture": kept}, entry.new.body["steps"]["settings"]))
    assert again["speed"] == entry.new.body["result"]["speed"]
    assert again["contacts"] == entry.new.body["result"]["contacts"]
    late = again["contacts"][2]["closing_late_ms"]
    # Petrel's contact 3 is set 1.5 ms late (core/simulate/practice_machines)
    assert late["value"] == pytest.approx(1.5, abs=0.25)
    assert not list(bench.arrivals.iterdir()), "the recording on its way is gone"


@pytest.mark.parametrize("fields", [
    {"source": "telepathy"}, {"source": "file", "where": "capture.wav"}, {"source": ""},
    {"source": "practice", "nominal": "a lot"}, {"source": "practice", "phase": "never"},
    {"source": "practice", "alphabet": "runes"}, {"source": "practice", "channel": "99"},
], ids=lambda fields: " ".join(fields.values()))  # fmt: skip
def test_what_makes_no_sense_starts_nothing(caller, petrel, fields):
    assert act(caller, petrel, "start", **fields).status_code == 422
    assert standing(caller, petrel) is None


@pytest.mark.parametrize("action", ["stop", "hands-on", "hands-off", "trial"])
def test_without_a_watch_there_is_nothing_to_do(caller, petrel, action):
    assert act(caller, petrel, action).status_code == 422


def test_every_source_is_listed_with_the_remedy(caller, petrel):
    sources = caller.get(f"/machines/{petrel}/live/offers").json()["sources"]
    by_name = {source["source"]: source for source in sources}
    assert by_name["practice"]["available"]
    assert set(by_name) == {"practice", "file", "sound", "stamps", "control", "text", "scope"}
    assert "--growing" in by_name["file"]["why_not"]
    assert all(source["available"] or source["why_not"] for source in sources)


@pytest.fixture
def growing(bench, tmp_path):
    """A folder that the bench was started with --growing for."""
    folder = tmp_path / "recorder"
    folder.mkdir()
    object.__setattr__(bench, "growing", folder)
    return folder


def offered_files(caller, petrel):
    sources = caller.get(f"/machines/{petrel}/live/offers").json()["sources"]
    return next(source for source in sources if source["source"] == "file")


def test_files_of_the_named_folder_are_offered_and_no_others(caller, petrel, growing, tmp_path):
    assert str(growing) in offered_files(caller, petrel)["why_not"], "empty: start the recorder"
    (tmp_path / "secret").write_bytes(b"x")
    (growing / "link.wav").symlink_to(tmp_path / "secret")
    (growing / ".hidden").write_bytes(b"x")
    (growing / "in").mkdir()
    (growing / "morning.wav").write_bytes(b"x")
    assert offered_files(caller, petrel)["found"] == ["morning.wav"]
    outside = ("../secret", str(tmp_path / "secret"), "morning.wav/../../secret")
    for where in (*outside, "link.wav", ".hidden", "in", "", "-"):
        assert act(caller, petrel, "start", source="file", where=where).status_code == 422
    said = act(caller, petrel, "start", source="file", where="morning.wav", raw="u8")
    assert "samples a second" in said.json()["says"]
    assert act(caller, petrel, "start", source="file", where="morning.wav", raw="?").status_code == 422
    assert standing(caller, petrel) is None


def test_a_growing_file_is_watched_to_the_book(bench, caller, petrel, growing, tmp_path):
    signal = tmp_path / "signal.npy"
    assert run(["line", "compose", "RYRYTHE QUICK BROWN FOX JUMPS OVER THE LAZY DOG", "-o", str(signal), "--machine",
                "petrel", "--rate", "8000"]) == 0  # fmt: skip
    # half a recording, then the rest of it while it is watched
    samples = np.round(100 + 100 * (np.load(signal) > 0)).astype(np.uint8).tobytes()
    (growing / "line.raw").write_bytes(samples[: len(samples) // 2])
    done = act(caller, petrel, "start", source="file", where="line.raw", raw="u8", rate="8000", nominal="45.45")
    assert done.status_code == 200, done.text
    until(lambda: standing(caller, petrel)["characters"] >= 15, "fifteen characters")
    with (growing / "line.raw").open("ab") as file:
        file.write(samples[len(samples) // 2 :])
    until(lambda: standing(caller, petrel)["characters"] >= 40, "forty")
    act(caller, petrel, "stop")
    until(lambda: standing(caller, petrel)["state"] == "ended", "its end")
    [entry] = bench.book.entries(petrel, kinds=("evidence",))
    assert "QUICK BROWN FOX JUMPS OVER THE LAZY DO" in entry.new.body["result"]["text"]
    late = entry.new.body["result"]["contacts"][2]["closing_late_ms"]
    assert late["value"] == pytest.approx(1.5, abs=0.25)


@pytest.fixture
def stand_in(monkeypatch, tmp_path):
    """Starts watches whose process says given lines and then does as it is told."""
    started = []

    def start(lines, then=""):
        says = f"for line in {lines!r}:\n    print(json.dumps(line), flush=True)"
        script = "\n".join(("import sys, json", "sys.stdin.readline()", says, then))
        monkeypatch.setattr(watching_module, "CHILD", (sys.executable, "-c", script))
        started.append(Watching(ORDER, "a" * 32, tmp_path, lambda end, order: ("/seen", "")))
        return started[-1]

    yield start
    for watching in started:
        watching._child.kill()  # these stand-ins do as they are told, and nothing tells them to end
        watching.stop(10.0)


def characters(count):
    struck = {"kind": "character", "text": "A", "needles": [], "screen_ms": 20.0}
    return [struck | {"number": n} for n in range(1, count + 1)]


WAIT = "sys.stdin.read()"


def test_a_watch_that_dies_says_so(stand_in):
    watching = stand_in([BEGUN, *characters(3)], then="sys.exit(3)")
    until(lambda: not watching.running, "its end")
    assert (watching.state, watching.says, watching.see) == ("refused", WORDLESS, "")


def test_a_refusal_is_passed_on(stand_in):
    watching = stand_in([{"kind": "refused", "says": "no such port"}])
    until(lambda: not watching.running, "its end")
    assert (watching.state, watching.says) == ("refused", "no such port")


def test_a_source_that_failed_in_the_middle_is_said_with_what_became_of_it(bench, petrel, monkeypatch):
    end = {"kind": "end", "record": "", "figures_from": "no signal", "trials": [], "failed": "port: pulled out."}
    tells = f"import sys\nsys.stdin.readline()\nprint({json.dumps(end)!r}, flush=True)"
    monkeypatch.setattr(watching_module, "CHILD", (sys.executable, "-c", tells))
    watching = bench.watches.start(petrel, ORDER)
    until(lambda: not watching.running, "its end")
    assert watching.says == "port: pulled out. Nothing went into the book: no signal."


def heard(watching, seen):
    """All that one page hears, from event `seen` on."""
    async def listen():
        return [text async for text in told(watching, seen, threading.Event())]

    return asyncio.run(listen())


def parts(text):
    return dict(line.split(": ", 1) for line in text.strip().splitlines())


def test_a_page_that_comes_back_goes_on_from_where_it_was(stand_in):
    watching = stand_in([BEGUN, *characters(9), {"kind": "end"}])
    until(lambda: not watching.running, "its end")
    whole = [parts(text) for text in heard(watching, 0)]
    assert [int(each["id"]) for each in whole] == list(range(1, 12))
    back = [parts(text) for text in heard(watching, 6)]
    assert [json.loads(each["data"]).get("number") for each in back] == [6, 7, 8, 9, None]
    new = [parts(text) for text in heard(watching, -1)]
    assert new[0]["event"] == "picture"
    assert json.loads(new[0]["data"])["text"] == "A" * 9
    assert len(new) == 1


def test_a_page_too_slow_for_single_events_gets_the_picture_and_it_is_counted(stand_in):
    watching = stand_in([BEGUN, *characters(EVENTS_KEPT + 50), {"kind": "end"}])
    until(lambda: not watching.running, "its end")
    told_ = [parts(text) for text in heard(watching, 3)]
    assert told_[0]["event"] == "picture"
    assert json.loads(told_[0]["data"])["characters"] == EVENTS_KEPT + 50
    assert watching.skipped == 1


def test_several_pages_hear_the_same(stand_in):
    watching = stand_in([BEGUN, *characters(5)], then=f"{WAIT}\nprint(json.dumps({{'kind': 'end'}}), flush=True)")
    until(lambda: watching.document()["characters"] == 5, "five characters")

    async def both():
        async def listen():
            return [parts(text)["id"] async for text in told(watching, 0, threading.Event())]

        async def end():
            await asyncio.sleep(0.2)
            watching._child.stdin.close()

        first, second, _ = await asyncio.gather(listen(), listen(), end())
        return first, second

    first, second = asyncio.run(both())
    assert first == second == [str(n) for n in range(1, 8)]


def test_a_bench_that_stops_ends_the_stream_of_a_watch_that_goes_on(stand_in):
    watching, stopping = stand_in([BEGUN, *characters(2)], then=WAIT), threading.Event()

    async def listen():
        asyncio.get_running_loop().call_later(0.2, stopping.set)
        return [text async for text in told(watching, 0, stopping)]

    asyncio.run(asyncio.wait_for(listen(), 5.0))
    assert watching.running


def needle(contact, late, band):
    return {"contact": contact, "direction": "closing", "late_ms": {"value": late}, "band_ms": band}


def test_a_turn_sets_the_bands_aside_and_begins_new_ones():
    seen = Standing()
    struck = {"kind": "character", "number": 1, "text": "A", "screen_ms": None}
    seen.take(struck | {"needles": [needle("3", 1.5, [1.4, 1.6])]})
    seen.take({"kind": "trial", "number": 1, "label": "x", "characters_before": 1})
    seen.take(struck | {"number": 2, "needles": [needle("3", 0.2, None)]})
    picture = seen.picture()
    assert [n["late_ms"]["value"] for n in picture["before"]] == [1.5]
    assert [n["late_ms"]["value"] for n in picture["needles"]] == [0.2]
    assert picture["text"] == "AA"
    seen.take({"kind": "compared", "number": 1, "changes": []})
    assert seen.picture()["trials"][0]["compared"] is not None


def test_another_unit_after_all_reads_the_text_again():
    seen = Standing()
    seen.take({"kind": "character", "number": 1, "text": "WRONG", "screen_ms": None, "needles": []})
    seen.take({"kind": "learned", "again": True, "instrument": []})
    assert seen.picture()["text"] == ""
