"""Twenty people read the bench while one writes: no refusal, and how long a page takes.

    python benchmarks/bench_load.py [SECONDS]       600 by default; a page every second or so for each reader

Limit stated: 95 of 100 pages within 300 ms. Prints the ratio to it, and the same for the writer.
"""

import http.client
import random
import re
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from tapewright.book.record import open_book
from tapewright.terminal.demo.bench_book import make_book
from tapewright.terminal.run import run

READERS, LIMIT_MS, PAUSE_S = 20, 300.0, (0.5, 1.5)
PAGES = ("", "/questions", "/gauges", "/line/newest", "/proof", "/compare")


def main(seconds: float) -> int:
    """Print what readers and writer got; 1 when one was refused or the limit is passed."""
    with tempfile.TemporaryDirectory() as scratch:
        return report(load(Path(scratch), seconds))


def load(folder: Path, seconds: float) -> dict[str, list[tuple[int, float]]]:
    """Start the program on a book of its own in this folder and load it; give what `measure` gives."""
    run(["line", "compose", "THE QUICK BROWN FOX", "--late", "3=1.5", "-o", str(folder / "petrel-line.csv")])
    book = make_book(folder)
    opened = open_book(str(book))
    machine = opened.machine("Petrel").key
    opened.close()
    command = [sys.executable, "-m", "tapewright", "serve", "--port", "0", "--book", str(book)]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        port = int(re.search(r":(\d+)/", server.stdout.readline())[1])
        return measure(port, machine, seconds)
    finally:
        server.terminate()
        server.wait(10)


def measure(port: int, machine: str, seconds: float) -> dict[str, list[tuple[int, float]]]:
    """Return for readers and writer the (status, milliseconds) of each request."""
    until, said = time.monotonic() + seconds, {"read": [], "write": []}
    threads = [threading.Thread(target=read, args=(port, machine, until, said["read"], n)) for n in range(READERS)]
    threads.append(threading.Thread(target=write, args=(port, machine, until, said["write"])))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return said


def read(port, machine, until, said, number):
    pause = random.Random(number)
    here = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    while time.monotonic() < until:
        said.append(timed(here, "GET", f"/machines/{machine}{pause.choice(PAGES)}"))
        time.sleep(pause.uniform(*PAUSE_S))


def write(port, machine, until, said):
    here = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    here.request("GET", "/")
    answer = here.getresponse()
    key = re.search(r'bench-key" content="([^"]+)"', answer.read().decode())[1]
    headers = {"cookie": answer.headers["set-cookie"].split(";")[0], "x-bench-key": key,
               "content-type": "application/x-www-form-urlencoded"}  # fmt: skip
    while time.monotonic() < until:
        said.append(timed(here, "POST", f"/machines/{machine}/note.json", b"text=still+running", headers))
        time.sleep(1.0)


def timed(here, method, path, body=None, headers=None):
    began = time.perf_counter()
    here.request(method, path, body, headers or {})
    answer = here.getresponse()
    answer.read()
    return answer.status, 1e3 * (time.perf_counter() - began)


def p95_ms(requests: list[tuple[int, float]]) -> float:
    """Return the time within which 95 of 100 were answered."""
    return sorted(ms for _, ms in requests)[int(0.95 * (len(requests) - 1))]


def report(said) -> int:
    worst = 0.0
    for who, requests in said.items():
        refused = sum(status >= 400 for status, _ in requests)
        p95 = p95_ms(requests)
        worst = max(worst, p95 / LIMIT_MS, float(refused))
        share = p95 / LIMIT_MS
        print(f"{who}: {len(requests)} requests, {refused} refused, p95 {p95:.0f} ms = {share:.2f} of the limit")
    return 0 if worst <= 1 else 1


if __name__ == "__main__":
    sys.exit(main(float(sys.argv[1]) if len(sys.argv) > 1 else 600.0))
