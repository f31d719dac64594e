"""A bench that is killed while a line is watched: the next start takes in what was recorded, mended where cut."""

import http.client
import json
import os
import re
import shutil
import subprocess
import sys
import threading
import time
import urllib.parse

import numpy as np
import psutil
import pytest

from tapewright.bench.bench import Bench
from tapewright.bench.jobs import Jobs
from tapewright.bench.live import watching as watching_module
from tapewright.bench.live.left_over import COMES, LeftOver
from tapewright.bench.live.marked import TrialsOnDisk, trials_in
from tapewright.bench.live.watching import WORDLESS, Order
from tapewright.book.record import open_book, recordings_folder
from tapewright.errors import InputError
from tapewright.line.live.events import Marked
from tapewright.recordings.live.recorder import Recorder, ToDisk, mend_npy
from tapewright.recordings.live.source import SamplePiece
from tapewright.terminal.run import run

CHARACTERS, SOON_S, LABEL = 20, 60.0, "screw B a quarter in"
RATE_HZ = 8000.0


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
            answer = there.getresponse()
            said = json.loads(answer.read())
            assert answer.status == 200, said
            return said

        heard("POST", f"{path}/live/start.json", asked)
        watching = lambda: heard("GET", f"{path}/live.json")["watching"]  # noqa: E731
        until(lambda: watching()["characters"] >= CHARACTERS, f"{CHARACTERS} characters")
        heard("POST", f"{path}/live/hands-on.json", "")
        heard("POST", f"{path}/live/trial.json", urllib.parse.urlencode({"label": LABEL}))
        until(lambda: watching()["trials"], "a marked trial")
        both = [*psutil.Process(bench.pid).children(recursive=True), psutil.Process(bench.pid)]
        for process in both:
            process.kill()
        psutil.wait_procs(both)
    return book


@pytest.mark.slow
def test_the_next_start_takes_it_in_once(killed, tmp_path):
    book, recordings = open_book(str(killed)), recordings_folder(str(killed))
    assert recordings.parent == killed.parent, "beside the book, not among what a restart throws away"
    [folder] = recordings.iterdir()
    shutil.copytree(folder, tmp_path / "as it was")
    machine = book.machine("Petrel").key
    bench = Bench(book, Jobs(), tmp_path / "mine", recordings=recordings)
    assert LeftOver(bench, still_s=60.0).take_in() == 0, "it may be alive"
    left = LeftOver(bench, still_s=0.0)
    assert (left.take_in(), left.take_in()) == (1, 0)
    assert over(bench, machine).state == "done"
    [trial, evidence] = book.entries(machine, kinds=("evidence", "trial"))
    assert (trial.new.kind, evidence.new.kind) == ("trial", "evidence"), "what was turned comes after what was watched"
    assert trial.new.body["says"].startswith(LABEL)
    result = evidence.new.body["result"]
    assert len(result["characters"]) >= CHARACTERS - 6, "no more than the last seconds are lost"
    late = {c["contact"]: c["closing_late_ms"]["value"] for c in result["contacts"]}
    assert late["3"] == pytest.approx(1.5, abs=0.2), "Petrel's contact 3, as the practice machine has it"
    assert "cut short" in evidence.new.body["note"]
    assert not folder.exists(), "nothing is left of it"
    # killed between the writing of the book and the taking away: it stands there again, and is not taken in again
    shutil.copytree(tmp_path / "as it was", folder)
    assert LeftOver(bench, still_s=0.0).take_in() == 1
    until(lambda: not folder.exists(), "its taking away")
    assert len(book.entries(machine, kinds=("evidence", "trial"))) == 2
    bench.jobs.close()
    book.close()


def over(bench, machine):
    """The job that has come to its end."""
    return until(lambda: next((j for j in bench.jobs.of(machine) if j.state in ("done", "refused")), None), "its end")


@pytest.fixture(scope="module")
def line(tmp_path_factory):
    """Samples of a line that can be measured."""
    path = tmp_path_factory.mktemp("line") / "signal.npy"
    text = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG "
    assert run(["line", "compose", text, "-o", str(path), "--baud", "100", "--rate", "8000"]) == 0
    return path


def left(bench, machine, line=None, trials=(), **order):
    """A folder as a watch leaves it that was cut short."""
    folder = bench.arrivals / "cut"
    folder.mkdir()
    said = {"machine": machine, "nominal": "100.0", "alphabet": "ita2", "phase": "between", "rate_hz": RATE_HZ}
    (folder / "watch.json").write_text(json.dumps(said | order))
    if line is not None:
        shutil.copy(line, folder / "watched.npy")
    on_disk = TrialsOnDisk(folder)
    for number, label in enumerate(trials, 1):
        on_disk.take(Marked(12.0, number, label, 9))
    return folder


def test_trials_are_written_as_they_are_marked_and_a_torn_line_costs_only_itself(bench, petrel):
    folder = left(bench, petrel, trials=("screw A", "screw B"))
    with (folder / "trials.jsonl").open("a") as file:
        file.write('{"number": 3, "bo')
    assert [body["says"].split(":")[0] for body in trials_in(folder)] == ["screw A", "screw B"]
    # a source that leaves no samples still leaves what was turned
    assert LeftOver(bench, still_s=-1.0).take_in() == 1
    assert over(bench, petrel).state == "done"
    assert len(bench.book.entries(petrel, kinds=("trial",))) == 2


def test_what_cannot_be_measured_is_put_aside_once_and_what_was_turned_is_kept(bench, petrel):
    folder = left(bench, petrel, trials=("screw A",))
    (folder / "watched.npy").write_bytes(b"the disk gave back something else")
    assert LeftOver(bench, still_s=-1.0).take_in() == 1
    job = over(bench, petrel)
    assert job.state == "refused"
    assert str(folder) in job.says
    assert (folder / "watched.npy").exists()
    assert LeftOver(bench, still_s=-1.0).take_in() == 0, "not again at every start"
    assert next(entry.new.kind for entry in bench.book.entries(petrel)) == "trial"


def test_a_book_that_cannot_be_written_leaves_it_for_the_next_start(bench, petrel, line, monkeypatch):
    folder = left(bench, petrel, line, trials=("screw A",))

    def full(lines, files):
        raise InputError("the book", expected="room on the disk", found="none")

    with monkeypatch.context() as now:
        now.setattr(bench.book, "write", full)
        assert LeftOver(bench, still_s=-1.0).take_in() == 1
        assert over(bench, petrel).state == "refused"
    assert (folder / "watch.json").exists()
    assert LeftOver(bench, still_s=-1.0).take_in() == 1
    until(lambda: not folder.exists(), "its taking in")
    assert [e.new.kind for e in bench.book.entries(petrel, kinds=("evidence", "trial"))] == ["trial", "evidence"]


def test_a_watch_that_dies_is_taken_in_at_once(bench, petrel, line, monkeypatch):
    """A cable pulled, a full disk, a crash of the process: the bench lives, and takes in what there is."""
    dies = (
        "import json, shutil, sys, pathlib\norder = json.loads(sys.stdin.readline())\n"
        "folder = pathlib.Path(order['record']).parent\n"
        f"shutil.copy({str(line)!r}, folder / 'watched.npy')\n"
        f"(folder / 'watch.json').write_text(json.dumps(order | {{'rate_hz': {RATE_HZ}}}))\nsys.exit(3)"
    )
    monkeypatch.setattr(watching_module, "CHILD", (sys.executable, "-c", dies))
    watching = bench.watches.start(petrel, Order("practice:petrel", "100.0", "ita2", {}))
    until(lambda: not watching.running, "its end")
    assert watching.says == f"{WORDLESS} {COMES}"
    assert over(bench, petrel).state == "done"
    assert len(bench.book.entries(petrel, kinds=("evidence",))) == 1
    assert not list(bench.arrivals.iterdir())


def test_a_recording_of_another_books_machine_is_left_alone(bench, petrel):
    folder = bench.arrivals / "y"
    folder.mkdir(parents=True)
    (folder / "watched.npy").write_bytes(b"x")
    for said in ('{"machine": "nobody"}', "no JSON", "[]"):
        (folder / "watch.json").write_text(said)
        assert LeftOver(bench, still_s=-1.0).take_in() == 0
    assert (folder / "watched.npy").exists()


def test_a_quiet_line_is_alive_as_long_as_its_process_says_so(bench, petrel):
    folder = left(bench, petrel, trials=("screw A",))
    assert LeftOver(bench, still_s=5.0).take_in() == 0
    os.utime(folder / "watch.json", (1.0, 1.0))
    assert LeftOver(bench, still_s=5.0).take_in() == 1
    over(bench, petrel)


def test_what_is_written_comes_to_the_disk_beside_the_line(tmp_path):
    synced = threading.Semaphore(0)
    with (tmp_path / "file").open("wb") as file:
        to_disk = ToDisk(file, every_s=0.001, sync=lambda number: synced.release())
        assert all(synced.acquire(timeout=SOON_S) for _ in range(3))
        to_disk.close()


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
