"""Watch the practice machine on the bench's live page: from the edge to the drawn screen, nothing lost, memory.

    python benchmarks/watch_page.py [MINUTES]          30 for the floor; needs chromium on the path

Two pages look at the same watch: a laptop, and a tablet beside the machine.
Limits stated: 95 of 100 characters on the screen within 100 ms of the edge; as many seconds recorded as went by;
memory of the watching process grows by less than 20 MB. The time is the page's own: the instant the stop begins on
the line, by the wall clock, against the end of the drawing that shows the character; of every character, not only
of those the page itself still remembers.
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
#: notes in the page, beside its own script, when each character was drawn, and the numbers of those that came
NOTES = """
window.notes = { took: [], numbers: [] };
const Own = window.EventSource;
window.EventSource = class extends Own {
  constructor(...how) {
    super(...how);
    this.addEventListener("message", (event) => {
      const line = JSON.parse(event.data);
      if (line.kind !== "character") return;
      window.notes.numbers.push(line.number);
      if (!line.on_line_unix_ms) return;
      requestAnimationFrame(() => setTimeout(() =>
        window.notes.took.push(performance.timeOrigin + performance.now() - line.on_line_unix_ms)));
    });
  }
};
"""
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
            page = chromium.new_page(viewport={"width": 1280, "height": 800})
            page.add_init_script(NOTES)
            page.goto(address)
            page.click("text=Petrel")
            page.goto(f"{page.url}/live")
            tablet = chromium.new_context(viewport={"width": 800, "height": 1280}).new_page()
            tablet.add_init_script(NOTES)
            watch(page, tablet, psutil.Process(server.pid), 60 * minutes)
            chromium.close()
        finally:
            server.terminate()
            server.wait()


def watch(page: Page, tablet: Page, server: psutil.Process, seconds: float) -> None:
    page.wait_for_selector("#source option[value=practice]", state="attached")
    page.click("#start button")
    page.wait_for_selector("#live[data-drawn]", state="attached", timeout=60_000)
    tablet.goto(page.url)
    child = server.children(recursive=True)[-1]
    time.sleep(10)
    at_first, began, busy_s = sizes(server, child, page), time.monotonic(), busy(child)
    first = standing(page)
    time.sleep(max(0.0, seconds - 10))
    last = standing(page)
    at_last, spent = sizes(server, child, page), time.monotonic() - began
    behind, busy_s = spent - (at_s(last) - at_s(first)), busy(child) - busy_s
    characters = last["characters"] - first["characters"]
    print(f"{spent / 60:.1f} minutes, {last['characters']} characters; load {psutil.getloadavg()[0]:.1f}")
    print(f"edge to line of output, ms: median {last['screen_ms']['median']:.0f}, 95 % {last['screen_ms']['p95']:.0f}")
    for name, each in (("laptop", page), ("tablet", tablet)):
        notes = each.evaluate("() => window.notes")
        took, numbers = sorted(notes["took"]), notes["numbers"]
        missed = numbers[-1] - numbers[0] + 1 - len(set(numbers))
        print(f"edge to screen, {name}, ms: median {at(took, 0.5):.0f}, 95 % {at(took, 0.95):.0f}, 99 % "
              f"{at(took, 0.99):.0f}, worst {took[-1]:.0f}; limit {MOST_MS:.0f} for 95 %; "
              f"{len(set(numbers))} characters, {missed} not shown singly, {len(numbers) - len(set(numbers))} twice")
    print(f"lost stretches: {len(last['lost'])}; page updates skipped: {last['skipped']}; "
          f"fell behind by {behind:.2f} s, limit {MOST_BEHIND_S:g}")
    print(f"processor of the watch: {1e3 * busy_s / characters:.0f} ms a character, the making of the signal with it")
    for name, then, now in zip(("watch", "server", "page's script"), at_first, at_last, strict=True):
        print(f"memory of the {name}: {then:.1f} MB at first, {now:.1f} MB at the end; "
              f"may grow by {MOST_GROWTH_MB:.0f} MB")
    page.click("#stop")
    page.click("text=See the figures of the whole watch", timeout=120_000)
    page.wait_for_selector(".finding-line")
    print(f"in the book: {page.inner_text('.finding-line')}")


def standing(page: Page) -> dict:
    return page.evaluate("() => fetch(location.pathname + '.json').then((answer) => answer.json())")["watching"]


def sizes(server: psutil.Process, child: psutil.Process, page: Page) -> tuple[float, float, float]:
    """Return the memory of watch, server and page's script, MB."""
    heap = page.evaluate("() => performance.memory.usedJSHeapSize")
    return child.memory_info().rss / 1e6, server.memory_info().rss / 1e6, heap / 1e6


def busy(process: psutil.Process) -> float:
    times = process.cpu_times()
    return times.user + times.system


def at(ordered: list[float], share: float) -> float:
    return ordered[int(share * (len(ordered) - 1))]


def at_s(watching: dict) -> float:
    return watching["character"]["start_s"]


if __name__ == "__main__":
    main()
