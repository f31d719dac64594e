"""Watch the practice machine on the bench's live page: from the edge to the drawn screen, nothing lost, memory.

    python benchmarks/watch_page.py [MINUTES]          30 for the floor; needs chromium on the path

Limits stated: 95 of 100 characters on the screen within 100 ms of the edge; as many seconds recorded as went by;
memory of the watching process grows by less than 20 MB. The time is the page's own: the instant the stop begins on
the line, by the wall clock, against the end of the drawing that shows the character.
"""

import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil
from playwright.sync_api import Page, sync_playwright

MOST_MS, MOST_GROWTH_MB, MOST_BEHIND_S = 100.0, 20.0, 2.0
PROGRAM = [sys.executable, "-m", "tapewright"]


def main() -> None:
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 0.5
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as playwright:
        book = str(Path(scratch) / "bench.book")
        subprocess.run([*PROGRAM, "machine", "add", "Petrel", "--nominal", "45.45", "--book", book], check=True)
        server = subprocess.Popen([*PROGRAM, "serve", "--port", "0", "--book", book], stdout=subprocess.PIPE, text=True)
        try:
            assert server.stdout is not None
            address = re.search(r"http://[^/]+", server.stdout.readline())[0]  # type: ignore[index]
            chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
            page = chromium.new_page(viewport={"width": 800, "height": 1280})
            page.goto(address)
            page.click("text=Petrel")
            page.goto(f"{page.url}/live")
            watch(page, psutil.Process(server.pid), 60 * minutes)
            chromium.close()
        finally:
            server.terminate()
            server.wait()


def watch(page: Page, server: psutil.Process, seconds: float) -> None:
    page.wait_for_selector("#source option[value=practice]", state="attached")
    page.click("#start button")
    page.wait_for_selector("#live[data-drawn]", state="attached", timeout=60_000)
    child = server.children(recursive=True)[-1]
    time.sleep(10)
    at_first_mb, began = child.memory_info().rss / 1e6, time.monotonic()
    first = standing(page)
    time.sleep(max(0.0, seconds - 10))
    last = standing(page)
    grown, spent = child.memory_info().rss / 1e6 - at_first_mb, time.monotonic() - began
    seen = page.evaluate("() => ({ ...document.getElementById('live').dataset })")
    behind = spent - (at_s(last) - at_s(first))
    print(f"{spent / 60:.1f} minutes, {last['characters']} characters; load {psutil.getloadavg()[0]:.1f}")
    print(f"edge to line of output, ms: median {last['screen_ms']['median']:.0f}, 95 % {last['screen_ms']['p95']:.0f}")
    print(f"edge to screen, ms (last 500): median {float(seen['median']):.0f}, 95 % {float(seen['p95']):.0f}; "
          f"limit {MOST_MS:.0f}")
    print(f"lost stretches: {len(last['lost'])}; page updates skipped: {last['skipped']}; "
          f"fell behind by {behind:.2f} s, limit {MOST_BEHIND_S:g}")
    print(f"memory of the watch grew by {grown:.1f} MB, limit {MOST_GROWTH_MB:.0f}")
    page.click("#stop")
    page.click("text=See the figures of the whole watch", timeout=120_000)
    page.wait_for_selector(".finding-line")
    print(f"in the book: {page.inner_text('.finding-line')}")


def standing(page: Page) -> dict:
    return page.evaluate("() => fetch(location.pathname + '.json').then((answer) => answer.json())")["watching"]


def at_s(watching: dict) -> float:
    return watching["character"]["start_s"]


if __name__ == "__main__":
    main()
