"""A 30-megapixel grey scan with 3,000 holes: reading it against decoding it plus one threshold and findContours.

    python benchmarks/tape.py            prints the ratio (limit 4) and the memory (limit 12 bytes a pixel)

The picture is punched and scanned by the practice machine. Both sides run in this process, alternating, the best of
five; memory is the growth of the process's peak while reading, in a fresh process that has everything imported.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import cv2
import numpy as np

from tapewright.alphabets import ITA2, encode
from tapewright.pictures.decode import read_picture
from tapewright.practice.punch import punch_tape
from tapewright.practice.punches import HERON_PUNCH
from tapewright.practice.scanner import Scanner, scan_tape
from tapewright.tape.measure import read_tape

LIMIT_RATIO, LIMIT_BYTES = 4.0, 12.0
STRIPS, PIXELS, DPI = 4, 30_000_000, 400
SENTENCE = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG 1234567890\r\n"


def make_scan(path: Path, strips: int = STRIPS) -> tuple[int, int]:
    """Write a scan of several strips one below the other; give pixels and holes."""
    rng = np.random.default_rng(7)
    codes = encode(SENTENCE * 5, ITA2)
    pieces = [punch_tape(codes, HERON_PUNCH, rng) for _ in range(strips)]
    scans = [scan_tape(piece, Scanner(dpi=DPI), rng).pixels for piece in pieces]
    width = max(scan.shape[1] for scan in scans)
    height = PIXELS // width
    page = np.clip(38 + 2 * rng.standard_normal((height, width), np.float32), 0, 255).astype(np.uint8)
    for n, scan in enumerate(scans):
        top = (height - scan.shape[0] * strips) // (strips + 1) * (n + 1) + scan.shape[0] * n
        page[top : top + scan.shape[0], : scan.shape[1]] = scan
    cv2.imwrite(str(path), page)
    return page.size, sum(piece.holes.x.size for piece in pieces)


def measure(path: Path, rounds: int = 5) -> tuple[float, float]:
    """Return the seconds of a reading and of the yardstick, the best of `rounds`."""
    reading, yardstick = [], []
    for _ in range(rounds):
        began = time.perf_counter()
        pixels = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
        _, mask = cv2.threshold(pixels, 128, 255, cv2.THRESH_BINARY_INV)
        cv2.findContours(mask, cv2.RETR_LIST, cv2.CHAIN_APPROX_SIMPLE)
        yardstick.append(time.perf_counter() - began)
        began = time.perf_counter()
        read_tape(read_picture(path).picture)
        reading.append(time.perf_counter() - began)
    return min(reading), min(yardstick)


def peak_growth(path: Path) -> int:
    """Return by how many bytes reading raises the peak memory of a process that has everything imported."""
    script = (
        "import sys, cv2, numpy\n"
        "from pathlib import Path\n"
        "from tapewright.pictures.decode import read_picture\n"
        "from tapewright.tape.measure import read_tape\n"
        "import PIL.Image, PIL.PngImagePlugin\n"
        "import psutil, re\n"
        "def peak():\n"
        "    if sys.platform != 'linux': return psutil.Process().memory_info().rss // 1024\n"
        "    return int(re.search(r'VmHWM:\\s+(\\d+)', Path('/proc/self/status').read_text()).group(1))\n"
        "before = peak(); read_tape(read_picture(Path(sys.argv[1])).picture); print(peak() - before)\n"
    )
    done = subprocess.run([sys.executable, "-c", script, str(path)], capture_output=True, text=True, check=True)
    return int(done.stdout) * 1024


def main() -> int:
    """Print the figures; fail when one is beyond its limit."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.png"
        pixels, holes = make_scan(path)
        reading, yardstick = measure(path)
        bytes_a_pixel = peak_growth(path) / pixels
    ratio = reading / yardstick
    print(f"{pixels / 1e6:.1f} megapixels, {holes} holes")
    print(f"reading {reading:.3f} s, decode + threshold + contours {yardstick:.3f} s")
    print(f"{ratio:.2f} times, limit {LIMIT_RATIO}")
    print(f"memory {bytes_a_pixel:.1f} bytes a pixel, limit {LIMIT_BYTES}")
    return int(ratio > LIMIT_RATIO or bytes_a_pixel > LIMIT_BYTES)


if __name__ == "__main__":
    sys.exit(main())
