"""A bench that is killed while a line is watched: the next start takes in what was recorded, mended where cut."""

import http.client
import json
import os
import re
import shutil
import subprocess
import sys
import time
import urllib.parse

import numpy as np
import psutil
import pytest

from tapewright.adapters.live_recorder import Recorder, mend_npy
from tapewright.app.live_source import SamplePiece
from tapewright.errors import InputError
from tapewright.web.bench import Bench
from tapewright.web.jobs import Jobs
from tapewright.web.live.left_over import LeftOver
from tapewright.wiring.books import open_book

CHARACTERS, SOON_S = 20, 60.0


def until(true, what):
    end = time.monotonic() + SOON_S
    while not (found := true()):
        assert time.monotonic() < end, f"it never came to {what}"
        time.sleep(0.1)
    return found


@pytest.fixture
def killed(tmp_path):
    """The book of a bench that was killed, with the process that recorded; its temporary files are below tmp_path."""
    book = tmp_path / "workshop.book"
    home = os.environ | {"TMPDIR": str(tmp_path), "TEMP": str(tmp_path), "TMP": str(tmp_path)}
    program = [sys.executable, "-m", "tapewright"]
    subprocess.run([*program, "machine", "add", "Petrel", "--nominal", "45.45", "--book", str(book)], check=True,
                   capture_output=True)  # fmt: skip
    command = [*program, "serve", "--port", "0", "--book", str(book)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=home) as bench:
        port = int(re.search(r":(\d+)/", bench.stdout.readline())[1])
        there = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
        there.request("GET", "/")
        answer = there.getresponse()
        page = answer.read().decode()
        path = re.search(r"/machines/[0-9a-f]+", page)[0]
        headers = {"cookie": answer.headers["set-cookie"].split(";")[0], "x-bench-key": re.search(
            r'bench-key" content="([^"]+)"', page)[1], "content-type": "application/x-www-form-urlencoded"}  # fmt: skip
        asked = urllib.parse.urlencode({"source": "practice", "where": "petrel", "nominal": "45.45"})

        def heard(method, where, body=None):
            there.request(method, where, body, headers)
            return json.loads(there.getresponse().read())

        heard("POST", f"{path}/live/start.json", asked)
        watching = lambda: heard("GET", f"{path}/live.json")["watching"]  # noqa: E731
        until(lambda: watching()["characters"] >= CHARACTERS, f"{CHARACTERS} characters")
        both = [*psutil.Process(bench.pid).children(recursive=True), psutil.Process(bench.pid)]
        for process in both:
            process.kill()
        psutil.wait_procs(both)
    return book


@pytest.mark.slow
def test_the_next_start_takes_it_in_once(killed, tmp_path):
    book = open_book(str(killed))
    (tmp_path / "mine").mkdir()
    bench = Bench(book, Jobs(), tmp_path / "mine")
    machine = book.machine("Petrel").key
    assert LeftOver(bench, tmp_path, still_s=60.0).take_in() == 0, "it may be alive"
    left = LeftOver(bench, tmp_path, still_s=0.0)
    assert (left.take_in(), left.take_in()) == (1, 0)
    [job] = until(lambda: [j for j in bench.jobs.of(machine) if j.state in ("done", "refused")], "the end of the job")
    assert job.state == "done", job.says
    [entry] = book.entries(machine, kinds=("evidence",))
    result = entry.new.body["result"]
    assert len(result["characters"]) >= CHARACTERS - 6, "no more than the last seconds are lost"
    late = {c["contact"]: c["closing_late_ms"]["value"] for c in result["contacts"]}
    assert late["3"] == pytest.approx(1.5, abs=0.2), "Petrel's contact 3, as the practice machine has it"
    assert "stopped before the end" in entry.new.body["note"]
    assert not list(tmp_path.glob("tapewright-bench-*/arrivals/*/watch.json")), "nothing is left of it"
    bench.jobs.close()
    book.close()


def test_a_recording_of_another_books_machine_is_left_alone(bench, petrel, tmp_path):
    folder = tmp_path / "tapewright-bench-x" / "arrivals" / "y"
    folder.mkdir(parents=True)
    (folder / "watched.npy").write_bytes(b"x")
    for said in ('{"machine": "nobody"}', "no JSON", "[]"):
        (folder / "watch.json").write_text(said)
        assert LeftOver(bench, tmp_path, still_s=-1.0).take_in() == 0
    assert (folder / "watched.npy").exists()
    shutil.rmtree(folder)
    assert LeftOver(bench, tmp_path, still_s=-1.0).take_in() == 0


@pytest.mark.parametrize("kind", [np.int16, np.float32, np.uint8])
def test_a_recording_that_was_cut_is_mended(tmp_path, kind):
    samples = (np.arange(5000) % 100).astype(kind)
    recorder = Recorder(tmp_path / "watched.npy", 48_000.0)
    for piece in np.array_split(samples, 7):
        recorder.take(SamplePiece(piece))
    recorder._file.flush()  # and here the power went
    with (tmp_path / "watched.npy").open("ab") as file:
        file.write(b"\x01" * (samples.itemsize - 1))
    assert mend_npy(tmp_path / "watched.npy") == samples.size
    assert np.load(tmp_path / "watched.npy").tolist() == samples.tolist()
    (tmp_path / "other.npy").write_bytes(b"no recording")
    with pytest.raises(InputError):
        mend_npy(tmp_path / "other.npy")
