"""What the bench takes by the clock, in a real browser, on a quiet machine: each figure beside its floor.

    python benchmarks/bench_floors.py            needs chromium on the path

first page      from the start of the program to the shelf, the floor 1 s; best and worst of five starts
page change     a machine's page right after that, and pages later, the floor 0.2 s
line            60 s at a million samples a second, from choosing the file to the contact at fault on the screen, 2 s;
                and, told without a floor, until the whole page with its trace is there (it is in the book by then)
tape            a picture of 12 million pixels, from choosing it to its text on the screen, 3 s
trace           a page of 100 million samples, from asking for it to the line drawn, told without a floor
"""

import http.client
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from tapewright.terminal.demo.bench_book import make_book
from tapewright.terminal.run import run

TEXT, STARTS = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG RYRYRY ", 5
RATE, LINE_S, TRACE_S = 1_000_000, 60.0, 100.0
CHARACTER_S = 7.42 * 0.022
PAGES = ("", "/questions", "/gauges", "/trials", "/line/newest", "/drive", "/compare", "/proof")


def main() -> int:
    """Print the figures; 1 when one misses its floor."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        line, trace, tape = make_files(folder)
        run(["line", "compose", TEXT, "--late", "3=1.5", "-o", str(folder / "petrel-line.csv")])
        book = make_book(folder)
        figures = [*starts(book), *later_and_files(book, line, tape, trace)]
    for what, took, floor in figures:
        said = "" if floor is None else f"   floor {floor:g} s   {'met' if took < floor else 'MISSED'}"
        print(f"{what:<46} {took:7.3f} s{said}")
    return int(any(floor is not None and took >= floor for _, took, floor in figures))


def make_files(folder: Path) -> tuple[Path, Path, Path]:
    """Make the two captures and the picture; nothing of it is timed."""
    paths = folder / "line.wav", folder / "trace.wav", folder / "tape.png"
    for path, seconds in zip(paths, (LINE_S, TRACE_S), strict=False):
        times = int(seconds / CHARACTER_S / (len(TEXT) + 1))
        run(["line", "compose", TEXT, "--repeat", str(times), "--late", "3=1.5", "--rate", str(RATE), "--noise", "1",
             "--tail-ms", str(1e3 * (seconds - times * (len(TEXT) + 1) * CHARACTER_S)), "-o", str(path)])  # fmt: skip
    run(["tape", "practice", TEXT, "--repeat", "8", "--machine", "petrel", "--dpi", "300", "--bend", "6", "-o",
         str(paths[2])])  # fmt: skip
    from PIL import Image

    Image.MAX_IMAGE_PIXELS = None
    with Image.open(paths[2]) as picture:
        pixels = picture.width * picture.height
        grown = Image.new(picture.mode, (picture.width, max(picture.height, round(12e6 / picture.width))),
                          picture.getpixel((2, 2)))  # fmt: skip
        grown.paste(picture, (0, 0))
        grown.save(paths[2], dpi=(300, 300))
        print(f"tape picture {grown.width} by {grown.height} = {grown.width * grown.height / 1e6:.1f} Mpx ({pixels})")
    return paths


def starts(book: Path) -> list[tuple[str, float, float | None]]:
    """Start the program several times, ask for the shelf and at once for a machine."""
    first, change, whole = [], [], []
    for _ in range(STARTS):
        began = time.monotonic()
        with Bench(book) as bench:
            shelf = bench.get("/")
            first.append(time.monotonic() - began)
            path = re.search(r"/machines/[0-9a-f]+", shelf)[0]
            began = time.monotonic()
            bench.get(path)
            change.append(time.monotonic() - began)
            bench.get(f"{path}.json")
            whole.append(time.monotonic() - began)
    return [("first page from the start, best", min(first), 1.0), ("first page from the start, worst", max(first), 1.0),
            ("page change right after it, worst", max(change), 0.2),
            ("   until the advisor's word is on it, worst", max(whole), None)]  # fmt: skip


def later_and_files(book: Path, line: Path, tape: Path, trace: Path) -> list[tuple[str, float, float | None]]:
    """Look at pages of a bench that runs, and give it files."""
    out: list[tuple[str, float, float | None]] = []
    with Bench(book) as bench, sync_playwright() as play:
        path = re.search(r"/machines/[0-9a-f]+", bench.get("/"))[0]
        time.sleep(4)
        for name in PAGES:
            began = time.monotonic()
            bench.get(path + name)
            out.append((f"page change, {name or 'machine'}", time.monotonic() - began, 0.2))
        chromium = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = chromium.new_page(base_url=bench.address, viewport={"width": 1280, "height": 800})
        said, whole = given(page, path, line, "text=/contact 3 closes/i")
        out.append(("line of 60 s at 1 MS/s, contact 3 named", said, 2.0))
        out.append(("   until its whole page is there", whole, None))
        said, whole = given(page, path, tape, "text=/THE QUICK BROWN/")
        out.append(("tape of 12 Mpx, the whole page", whole, 3.0))
        given(page, path, trace, "text=/contact 3 closes/i")
        began = time.monotonic()
        page.reload()
        page.wait_for_selector("canvas")
        page.wait_for_load_state("networkidle")
        out.append(("page of 1e8 samples, with its trace", time.monotonic() - began, None))
        chromium.close()
    return out


def given(page: Page, path: str, file: Path, shows: str) -> tuple[float, float]:
    """Choose a file on the machine's page; give the times until the result is said, and until its page shows it."""
    page.goto(path)
    page.wait_for_selector("html.scripted")
    page.wait_for_timeout(1500)  # a person takes longer than that to find the file, and a browser has started by then
    began = time.monotonic()
    page.locator("#drop-file").set_input_files(str(file))
    page.wait_for_selector(".job-found, h1:has-text('Line signal'), h1:text-is('Tape')", timeout=120_000)
    said = time.monotonic() - began
    page.wait_for_url(re.compile("/(line|tape)/"), timeout=120_000)
    page.wait_for_selector(shows)
    return said, time.monotonic() - began


class Bench:
    """The program a person starts, and pages asked of it."""

    def __init__(self, book: Path) -> None:
        """Start it."""
        command = [sys.executable, "-m", "tapewright", "serve", "--port", "0", "--book", str(book)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        self.port = int(re.search(r":(\d+)/", self.process.stdout.readline())[1])
        self.address = f"http://127.0.0.1:{self.port}"

    def __enter__(self) -> "Bench":
        return self

    def __exit__(self, *_: object) -> None:
        self.process.terminate()
        self.process.wait(20)

    def get(self, path: str) -> str:
        """Ask for a page."""
        there = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        there.request("GET", path)
        return there.getresponse().read().decode()


if __name__ == "__main__":
    sys.exit(main())
