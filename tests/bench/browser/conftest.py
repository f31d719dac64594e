"""A bench that listens, on a book with Petrel as found, and a real browser that looks at it and complains."""

import re
import shutil
import threading
import time
from pathlib import Path

import httpx
import pytest
import uvicorn

from tapewright.bench.application import application
from tapewright.bench.bench import Bench
from tapewright.bench.jobs import Jobs
from tapewright.book.record import open_book
from tapewright.terminal.demo.bench_book import make_book
from tapewright.terminal.run import run

ROOT = Path(__file__).parents[3]
TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG RYRYRYRYRY"
SIZES = {"laptop": (1280, 800), "tablet": (800, 1280), "phone": (390, 844)}


@pytest.fixture(scope="session")
def capture(tmp_path_factory):
    """A simulated recording of a machine whose contact 3 closes late."""
    path = tmp_path_factory.mktemp("captures") / "late.csv"
    assert run(["line", "compose", TEXT, "--late", "3=1.5", "--scatter", "1", "-o", str(path)]) == 0
    return path


@pytest.fixture(scope="session")
def bench(tmp_path_factory, capture):
    """The bench behind the address, on the demo's book."""
    folder = tmp_path_factory.mktemp("bench")
    (folder / "arrivals").mkdir()
    shutil.copy(capture, folder / "petrel-line.csv")
    book = open_book(str(make_book(folder)))
    yield (made := Bench(book, Jobs(), folder / "arrivals"))
    made.watches.close()
    book.close()


@pytest.fixture(scope="session")
def address(bench):
    """Where it listens."""
    server = uvicorn.Server(uvicorn.Config(application(bench), port=0, log_level="warning", ws="none",
                                           timeout_graceful_shutdown=1))  # fmt: skip
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    server.should_exit = True
    thread.join(5)


@pytest.fixture(scope="session")
def petrel(bench):
    """The path of Petrel's page."""
    return f"/machines/{bench.book.machine('Petrel').key}"


def given_up(request):
    """Whether the browser itself let go of it, as it does with whatever a page still waits for when it is left."""
    return request.failure == "net::ERR_ABORTED"


@pytest.fixture
def look(browser, address):
    """Opens pages; at the end nothing may have been said on a console, failed, or gone off the machine."""
    opened, complaints = [], []

    def at(path, size="laptop", scheme="light", **how):
        width, height = SIZES[size]
        context = browser.new_context(base_url=address, viewport={"width": width, "height": height},
                                      color_scheme=scheme, has_touch=size != "laptop", **how)  # fmt: skip
        page = context.new_page()
        page.on("console", lambda message: complaints.append(message.text))
        page.on("pageerror", lambda problem: complaints.append(str(problem)))
        page.on("requestfailed", lambda r: None if given_up(r) else complaints.append(f"failed {r.url} {r.failure}"))
        page.on("request", lambda r: None if r.url.startswith((address, "blob:")) else complaints.append(r.url))
        page.on("response", lambda r: complaints.append(f"{r.status} {r.url}") if r.status >= 400 else None)
        opened.append(context)
        page.goto(path)
        return page

    yield at
    for context in opened:
        context.close()
    assert complaints == []


@pytest.fixture(scope="session")
def pictures():
    """Where pictures of the pages are left to be looked at."""
    folder = ROOT / "build" / "screenshots"
    folder.mkdir(parents=True, exist_ok=True)
    return folder


@pytest.fixture
def key(address):
    """A client with the keys of this start."""
    with httpx.Client(base_url=address, headers={"origin": address}) as client:
        client.headers["x-bench-key"] = re.search(r'bench-key" content="([^"]+)"', client.get("/").text)[1]
        yield client
