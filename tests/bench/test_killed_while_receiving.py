"""A server killed in the middle of an upload, and started again: nothing half-stored, and it takes the file then."""

import http.client
import re
import signal
import socket
import subprocess
import sys
import time

import pytest

from tapewright.book.record import open_book
from tapewright.terminal.run import run


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def started(port, book):
    server = subprocess.Popen([sys.executable, "-m", "tapewright", "serve", "--port", str(port), "--book", str(book)],
                              stdout=subprocess.PIPE, text=True)  # fmt: skip
    assert "The bench is at" in server.stdout.readline()
    return server


def page_of(port):
    """Look at the first page; give the cookie and the key."""
    for _ in range(100):
        try:
            there = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
            there.request("GET", "/")
            answer = there.getresponse()
            key = re.search(r'bench-key" content="([^"]+)"', answer.read().decode())[1]
            return answer.headers["set-cookie"].split(";")[0], key
        except ConnectionError:
            time.sleep(0.1)
    raise AssertionError("the server did not answer")


@pytest.mark.slow
def test_nothing_is_half_stored(tmp_path):
    book, capture, port = tmp_path / "w.book", tmp_path / "ry.csv", free_port()
    assert run(["line", "compose", "RYRYRYRY", "-o", str(capture)]) == 0
    assert run(["machine", "add", "Petrel", "--book", str(book)]) == 0
    body = capture.read_bytes()
    server = started(port, book)
    cookie, key = page_of(port)
    half = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    half.putrequest("POST", "/machines/Petrel/arrivals")
    for name, value in (("cookie", cookie), ("x-bench-key", key), ("x-file-name", "ry.csv"),
                        ("content-type", "application/octet-stream"), ("content-length", str(len(body)))):  # fmt: skip
        half.putheader(name, value)
    half.endheaders(body[: len(body) // 2])
    time.sleep(0.5)
    server.send_signal(signal.SIGKILL if hasattr(signal, "SIGKILL") else signal.SIGTERM)
    server.wait(10)
    kept = open_book(str(book))
    assert kept.entries(kept.machine("Petrel").key, kinds=("evidence",)) == ()
    assert kept.raw_files() == {}
    kept.close()
    server = started(port, book)
    try:
        old, (cookie, key) = (cookie, key), page_of(port)
        assert old != (cookie, key), "the keys are new at every start"
        whole = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        whole.request("POST", "/machines/Petrel/arrivals", body, {
            "cookie": cookie, "x-bench-key": key, "x-file-name": "ry.csv", "content-type": "application/octet-stream",
        })  # fmt: skip
        assert whole.getresponse().status == 202
    finally:
        server.terminate()
        server.wait(10)
