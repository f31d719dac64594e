"""Practice recordings with known faults, sent to a bench; and a bench that a real browser can look at."""

import re
import threading
import time

import httpx
import pytest
import uvicorn

from tapewright.bench.application import application
from tapewright.bench.bench import Bench
from tapewright.bench.jobs import Jobs
from tapewright.book.record import open_book
from tapewright.terminal.run import run

#: the fault that was put in: contact 3 closes 1.5 ms late
LATE_CONTACT, LATE_MS, UNIT_MS = 3, 1.5, 22.0
TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG RYRYRYRYRY SKERRY POINT HARBOUR MUSEUM"


@pytest.fixture(scope="session")
def late_capture(tmp_path_factory):
    """A capture in which contact 3 closes late and bounces."""
    path = tmp_path_factory.mktemp("captures") / "petrel.wav"
    words = ["line", "compose", TEXT, "--repeat", "2", "--late", f"{LATE_CONTACT}={LATE_MS}", "--scatter", "1",
             "--bounce-ms", "1", "--rate", "48000", "-o", str(path)]  # fmt: skip
    assert run(words) == 0
    return path


TAPE_TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG"


class Sender:
    """Sends files to a bench as its own pages do."""

    def __init__(self, client, bench):
        self.client, self.bench = client, bench
        self._machines = {}
        self.key = re.search(r'name="bench-key" content="([^"]+)"', client.get("/").text)[1]

    def machine(self, name, **fields):
        """Return the machine of this name, made once: a module may come again when workers share the tests out."""
        if name not in self._machines:
            self._machines[name] = self._new(name, **fields)
        return self._machines[name]

    def _new(self, name, **fields):
        done = self.client.post("/machines.json", data={"name": name, "advisor": "keyboard-punch", **fields},
                                headers={"x-bench-key": self.key})  # fmt: skip
        assert done.status_code == 200, done.text
        return done.json()["see"].split("/")[-1]

    def send(self, machine, path, name="", **fields):
        headers = {"x-bench-key": self.key, "x-file-name": name or path.name}
        headers["content-type"] = "application/octet-stream"
        to, body = f"/machines/{machine}/arrivals", path.read_bytes()
        sent = self.client.post(to, params=fields, content=body, headers=headers)
        assert sent.status_code == 202, sent.text
        for _ in range(1200):
            job = self.bench.jobs.get(sent.json()["job"])
            if job.state in ("done", "refused"):
                assert job.state == "done", job.says
                return self.bench.book.entries(machine, kinds=("evidence",), limit=1)[0]
            time.sleep(0.05)
        raise AssertionError("the job did not end")


@pytest.fixture(scope="session")
def live_bench(tmp_path_factory):
    """A bench that really listens, on a book of its own; gives (address, sender)."""
    folder = tmp_path_factory.mktemp("live")
    (folder / "arrivals").mkdir()
    book = open_book(str(folder / "live.book"))
    bench = Bench(book, Jobs(), folder / "arrivals")
    server = uvicorn.Server(uvicorn.Config(application(bench), port=0, log_level="warning", ws="none"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    address = f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    with httpx.Client(base_url=address, timeout=60, headers={"origin": address}) as client:
        yield address, Sender(client, bench)
    server.should_exit = True
    thread.join(10)
    book.close()


@pytest.fixture(scope="session")
def line(live_bench, late_capture):
    """The path of the line page of that capture."""
    sender = live_bench[1]
    machine = sender.machine("Petrel", nominal="45.45")
    return f"/machines/{machine}/line/{sender.send(machine, late_capture).key}"


@pytest.fixture(scope="session")
def scan(tmp_path_factory):
    path = tmp_path_factory.mktemp("scans") / "petrel.png"
    assert run(["tape", "practice", TAPE_TEXT, "--machine", "petrel", "--angle", "2", "-o", str(path)]) == 0
    return path


@pytest.fixture(scope="session")
def tape(live_bench, scan):
    sender = live_bench[1]
    machine = sender.machine("Petrel with a tape")
    return f"/machines/{machine}/tape/{sender.send(machine, scan).key}"


def until(page, condition):
    """Wait until a function of the page says yes. The page's own policy forbids what the library's waiting would do."""
    for _ in range(600):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"it never came to {condition}")


class Looking:
    """A page in the browser, and everything it complained about."""

    def __init__(self, page):
        self.page, self.complaints = page, []
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda problem: self.complaints.append(str(problem)))
        page.on("requestfailed", lambda request: self.complaints.append(f"{request.url}: {request.failure}"))
        page.on("response", lambda r: self.complaints.append(f"{r.status} {r.url}") if r.status >= 400 else None)


@pytest.fixture
def look(browser, live_bench):
    """Opens pages of the live bench; at the end nothing may have been complained about."""
    opened = []

    def at(path, **how):
        context = browser.new_context(base_url=live_bench[0], **({"viewport": {"width": 1280, "height": 800}} | how))
        looking = Looking(context.new_page())
        opened.append((context, looking))
        looking.page.goto(path)
        return looking.page

    yield at
    for context, looking in opened:
        context.close()
        assert looking.complaints == []
