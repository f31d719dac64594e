"""Watch the practice machine: how long from edge to line, what a piece and a character cost, samples lost, memory.

    python benchmarks/watch.py [minutes]          the line alone; watch_page.py has the live page beside it
"""

import gc
import sys
import time

import psutil

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.live.events import Struck
from tapewright.line.live.live_line import LiveLine
from tapewright.line.live.watch import Until, Watch
from tapewright.recordings.live.asked import Asked
from tapewright.sender.practice_source import PracticeSource

MOST_MS, MOST_GROWTH_MB = 100.0, 20.0


def main() -> None:
    minutes = float(sys.argv[1]) if len(sys.argv) > 1 else 0.5
    source = PracticeSource(Asked())
    line = LiveLine(LineSettings(ITA2, nominal_baud=1000 / 22), source.rate_hz)
    watch = Watch(source, line)
    took, process, begun, first_mb = [], psutil.Process(), time.monotonic(), 0.0
    pieces, last_s, busy_s = [], time.thread_time(), time.process_time()
    for moment in watch.moments(Until(seconds=60 * minutes)):
        if moment.event is None:
            now_s = time.thread_time()
            pieces.append(1e3 * (now_s - last_s))
            last_s = now_s
        if isinstance(moment.event, Struck) and moment.screen_ms is not None:
            took.append(moment.screen_ms)
            if len(took) == 50:
                gc.collect()
                first_mb = process.memory_info().rss / 1e6
    spent = time.monotonic() - begun
    busy_s = time.process_time() - busy_s
    took.sort()
    pieces.sort()
    asked = round(60 * minutes * source.rate_hz)
    grown = process.memory_info().rss / 1e6 - first_mb
    print(f"{minutes:g} minutes, {len(took)} characters, {line.characters} in all; load {psutil.getloadavg()[0]:.1f}")
    print(f"stop begins to line, ms: median {took[len(took) // 2]:.0f}, 95 % {took[int(0.95 * len(took))]:.0f}, "
          f"worst {took[-1]:.0f}; limit {MOST_MS:.0f}")
    print(f"samples: {watch.samples} taken, {asked} asked, {watch.gaps} gaps")
    print(f"processor {busy_s / spent:.0%} of one core, {1e3 * busy_s / line.characters:.0f} ms a character, "
          "the making of the signal with it")
    print(f"thread of the line, ms of processor a piece of 10 ms: median {pieces[len(pieces) // 2]:.1f}, "
          f"99 % {pieces[int(0.99 * len(pieces))]:.1f}, worst {pieces[-1]:.0f}; limit 10 for 99 %")
    print(f"memory grew by {grown:.1f} MB, limit {MOST_GROWTH_MB:.0f}")


if __name__ == "__main__":
    main()
