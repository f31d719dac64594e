"""Files that arrive: recognised, measured, written in the book; refused by size, kind or name; never half-kept."""

import time

import numpy as np
import pytest

from tapewright.bench import landing
from tapewright.terminal.run import run


@pytest.fixture(scope="module")
def capture(tmp_path_factory):
    """A short test signal with a known text."""
    path = tmp_path_factory.mktemp("capture") / "ry.csv"
    assert run(["line", "compose", "RYRYRYRYRYRY", "-o", str(path)]) == 0
    return path.read_bytes()


def send(caller, machine, body, name="ry.csv", **fields):
    return caller.post(f"/machines/{machine}/arrivals", params=fields, content=body, headers={
        "x-bench-key": caller.key, "x-file-name": name, "content-type": "application/octet-stream"})  # fmt: skip


def wait(bench, job):
    for _ in range(400):
        if bench.jobs.get(job).state in ("done", "refused"):
            return bench.jobs.get(job)
        time.sleep(0.05)
    raise AssertionError("the job did not end")


def test_a_capture_becomes_evidence(caller, bench, petrel, capture):
    answer = send(caller, petrel, capture, expect="RYRYRYRYRYRY", phase="as left")
    assert answer.status_code == 202
    job = wait(bench, answer.json()["job"])
    assert job.state == "done", job.says
    assert "45.45" in job.found
    [entry] = bench.book.entries(petrel, kinds=("evidence",))
    assert entry.new.body["result"]["text"].strip() == "RYRYRYRYRYRY"
    assert entry.new.body["phase"] == "as left"
    assert bench.book.raw(entry.new.files[0]).read() == capture
    assert entry.new.body["result"]["source"]["file"] == "ry.csv"
    assert caller.get(job.see).status_code == 200
    assert not list(bench.arrivals.iterdir())


def test_a_form_without_script_does_the_same(caller, bench, petrel, capture):
    sent = caller.post(f"/machines/{petrel}/arrivals", data={"bench-key": caller.key, "expect": ""},
                       files={"file": ("ry.csv", capture)})  # fmt: skip
    assert sent.status_code == 303
    assert wait(bench, sent.headers["location"].split("/")[-1]).state == "done"


@pytest.mark.parametrize("body", [b"<html><script>", b"%PDF-1.7", b"MZ\x90\x00", b"\x7fELF"])
def test_what_is_no_evidence_is_refused(caller, bench, petrel, body):
    answer = send(caller, petrel, body, name="x.csv")
    assert answer.status_code == 415, answer.text
    assert not list(bench.arrivals.iterdir())


def test_a_picture_sent_as_a_line_is_refused(caller, petrel):
    assert send(caller, petrel, b"\x89PNG\r\n\x1a\n" + bytes(50), what="line").status_code == 415


def test_too_much_is_refused_before_and_while_it_comes(caller, bench, petrel, monkeypatch):
    monkeypatch.setattr(landing, "LARGEST_BYTES", 1000)
    assert send(caller, petrel, bytes(2000)).status_code == 413
    monkeypatch.setattr("tapewright.bench.arrivals.LARGEST_BYTES", 1000)
    assert send(caller, petrel, bytes(2000)).status_code == 413
    assert not list(bench.arrivals.iterdir())


def test_without_keys_nothing_is_taken(caller, bench, petrel, capture):
    answer = caller.post(f"/machines/{petrel}/arrivals", content=capture,
                         headers={"content-type": "application/octet-stream"})  # fmt: skip
    assert answer.status_code == 403
    assert caller.post(f"/machines/{petrel}/arrivals", files={"file": ("a.csv", capture)}).status_code == 403
    assert not list(bench.arrivals.iterdir())


@pytest.mark.parametrize(("name", "kept"), [
    ("../../etc/passwd", "passwd"), ("..\\..\\boot.ini", "boot.ini"), ("/etc/cron.d/x", "x"), (".bashrc", "bashrc"),
    ("a;rm -rf ~.csv", "a_rm_-rf_.csv"), ("", "file"), ("\u202egnp.exe", "_gnp.exe"), ("a\x00b.wav", "a_b.wav"),
])  # fmt: skip
def test_a_name_cannot_be_a_path(name, kept):
    assert landing.tame(name) == kept


def test_a_file_that_cannot_be_measured_leaves_nothing_but_the_reason(caller, bench, petrel):
    body = ("t,v\n" + "\n".join(f"{k},{k % 3}" for k in range(50))).encode()
    answer = send(caller, petrel, body, rate="nonsense")
    job = wait(bench, answer.json()["job"])
    assert job.state == "refused"
    assert "field 'Samples a second'" in job.says
    assert bench.book.entries(petrel, kinds=("evidence",)) == ()
    assert not bench.book.raw_files()


def test_an_empty_file_and_an_unknown_machine(caller, petrel):
    assert send(caller, petrel, b"").status_code == 422
    assert send(caller, "0" * 32, b"1,2\n").status_code == 422


def test_what_a_killed_start_left_is_swept(tmp_path):
    half = tmp_path / "arrivals" / "ab" / "half.csv"
    half.parent.mkdir(parents=True)
    half.write_bytes(np.zeros(9).tobytes())
    landing.sweep(tmp_path / "arrivals")
    assert list((tmp_path / "arrivals").iterdir()) == []
