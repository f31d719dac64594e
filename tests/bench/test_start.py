"""From a cold start to the first page, and the page change right after it, of the very program a person starts.

Floors: first page under 1 s from the start of the server, a page change under 200 ms. How quick a machine is at the
moment differs by two and more, so the start is held against loading the libraries alone on the same machine at the same
time: what a quiet machine does in seconds, benchmarks/bench_floors.py prints.
"""

import http.client
import re
import subprocess
import sys
import time

import psutil
import pytest

LIBRARIES = "import uvicorn, starlette.applications, starlette.staticfiles, jinja2, python_multipart, sqlalchemy, click"
#: first page, in processor time, against the libraries alone; 1.5 when this was written
MOST_OF_LIBRARIES = 2.2
CHANGE_S = 0.2
STARTS = 3


def processor_s(process):
    times = process.cpu_times()
    return times.user + times.system


def get(port, path):
    began, line = time.monotonic(), http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    line.request("GET", path)
    answer = line.getresponse()
    text = answer.read().decode()
    assert answer.status == 200
    return text, time.monotonic() - began


def started(book):
    """Start the bench, ask for the first page and at once for a machine's; give both costs and the machine's path."""
    command = [sys.executable, "-m", "tapewright", "serve", "--port", "0", "--book", str(book)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as bench:
        try:
            port = int(re.search(r":(\d+)/", bench.stdout.readline())[1])
            first, _ = get(port, "/")
            cost = processor_s(psutil.Process(bench.pid))
            path = re.search(r'/machines/[0-9a-f]+', first)[0]
            frame, took = get(port, path)
            twin, _ = get(port, f"{path}.json")
            page, _ = get(port, path)
            return cost, took, (frame, twin, page)
        finally:
            bench.terminate()


def libraries_alone():
    command = [sys.executable, "-c", f"{LIBRARIES}; print(flush=True); input()"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as loading:
        loading.stdout.readline()
        cost = processor_s(psutil.Process(loading.pid))
        loading.communicate(b"\n")
        return cost


@pytest.fixture(scope="module")
def starts(tmp_path_factory):
    book = tmp_path_factory.mktemp("start") / "workshop.book"
    add = ["machine", "add", "Petrel", "--model", "keyboard-punch", "--nominal", "45.45", "--book", str(book)]
    subprocess.run([sys.executable, "-m", "tapewright", *add], check=True, capture_output=True)
    return [(libraries_alone(), *started(book)) for _ in range(STARTS)]


def test_the_first_page_costs_little_more_than_loading_the_libraries(starts):
    assert min(cost / alone for alone, cost, _, _ in starts) < MOST_OF_LIBRARIES


def test_a_page_change_right_after_the_start_takes_under_200_ms(starts):
    assert min(took for _, _, took, _ in starts) < CHANGE_S


def test_what_was_not_there_at_once_comes(starts):
    for _, _, _, (frame, twin, page) in starts:
        assert "Petrel" in frame
        assert '"next"' in twin
        assert "The next step" in page
