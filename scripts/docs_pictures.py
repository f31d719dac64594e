"""Make the pictures of the documentation from the demo: `python3 dev.py docs --pictures`.

The demo is run, its bench is started and looked at with a browser (Chromium must be on the path); its plots are taken
as they are. A picture of a page changes a little with the fonts of the computer, so the pictures are kept in
docs/pictures/ and are made anew when a page has changed; a test sees that every picture a page shows is there.
"""

import contextlib
import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import docs_drawings
import shown_output
from PIL import Image
from playwright.sync_api import Browser, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
PICTURES = ROOT / "docs" / "pictures"
TUTORIAL = ROOT / "docs" / "tutorials" / "in-python.md"
LAPTOP = (1280, 800)
#: plots of the demo's folder -> the picture's name
PLOTS = {
    "petrel-line.svg": "line-plot",
    "heron-drive.svg": "drive-plot",
    "heron-free.svg": "coil-plot",
    "petrel-before-after.svg": "before-after-plot",
}
#: page of the bench -> (its path below the machine, size of the window, what is looked at or nothing for the top)
PAGES: dict[str, tuple[str, tuple[int, int], str]] = {
    "shelf": ("", LAPTOP, ""),
    "machine": ("machines/Petrel", LAPTOP, ""),
    "machine-phone": ("machines/Petrel", (390, 844), ""),
    "gauges": ("machines/Petrel/gauges", LAPTOP, ""),
    "line": ("machines/Petrel/line/newest", LAPTOP, ""),
    "rulers": ("machines/Petrel/line/newest", LAPTOP, "#contacts"),
    "tape": ("machines/Petrel/tape/newest", LAPTOP, ""),
    "proof": ("machines/Petrel/proof", LAPTOP, ""),
}
MOST_COLOURS = 128  # the pages have few; the files are a third as large


def main(arguments: list[str]) -> int:
    """Make every picture, or those that are named."""
    docs_drawings.main()
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        subprocess.run([*COMMAND, "demo", "--no-serve", "--keep", scratch], check=True, stdout=subprocess.DEVNULL)
        for plot, name in PLOTS.items():
            shutil.copy(folder / plot, PICTURES / f"{name}.svg")
        _strip(folder / "petrel-tape-marked.png", PICTURES / "tape-marked.png")
        with bench(folder / "skerry-point.book") as address, browser() as chromium:
            look(chromium, address, set(arguments) or set(PAGES))
    plots_of_the_tutorial()
    return 0


COMMAND = [sys.executable, "-m", "tapewright"]


def _strip(scan: Path, picture: Path) -> None:
    """Keep the first rows of a marked tape that have an unclean hole in sight."""
    with Image.open(scan) as whole:
        part = whole.crop((300, 0, min(whole.width, 1700), whole.height))
        part.quantize(MOST_COLOURS).save(picture, optimize=True)


@contextlib.contextmanager
def bench(book: Path) -> Iterator[str]:
    """Serve the bench on a book; return its address."""
    surroundings = os.environ | {"PYTHONUNBUFFERED": "1"}
    words = [*COMMAND, "serve", "--port", "0", "--book", str(book)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=surroundings) as server:
        assert server.stdout is not None
        told = next((line for line in server.stdout if "http" in line), "")
        try:
            yield re.findall(r"http://\S+/", told)[0]
        finally:
            server.terminate()


@contextlib.contextmanager
def browser() -> Iterator[Browser]:
    """Start the browser that the tests use."""
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        try:
            yield chromium
        finally:
            chromium.close()


def look(chromium: Browser, address: str, names: set[str]) -> None:
    """Take a picture of each page, light."""
    page = chromium.new_page()
    page.goto(address)
    petrel = page.get_by_role("link", name="Petrel").first.get_attribute("href") or ""
    page.close()
    for name in names:
        path, (width, height), at = PAGES[name]
        page = chromium.new_page(viewport={"width": width, "height": height}, color_scheme="light")
        page.goto(address + path.replace("machines/Petrel", petrel.lstrip("/")))
        page.wait_for_load_state("networkidle")
        if at:
            page.locator(at).evaluate("heading => heading.scrollIntoView()")
        picture = Image.open(io.BytesIO(page.screenshot()))
        picture.quantize(MOST_COLOURS).save(PICTURES / f"{name}.png", optimize=True)
        page.close()
        print("took", name)


def plots_of_the_tutorial() -> None:
    """Run the tutorial in Python; keep the plots that it draws."""
    with shown_output.page_folder() as folder:
        for _ in shown_output.run_page(TUTORIAL.read_text(encoding="utf-8")):
            pass
        for plot in folder.glob("*.svg"):
            svg = re.sub(r"<metadata>.*?</metadata>", "", plot.read_text(encoding="utf-8"), flags=re.DOTALL)
            (PICTURES / plot.name).write_text(svg, encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
