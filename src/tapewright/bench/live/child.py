"""One watch in a process of its own, so that the line is never late because a page is being drawn.

in   one JSON object a line: first what to watch (`Order`), then {"do": "hands-on" | "hands-off" | "stop"} or
{"do": "trial", "label": "turned screw B a quarter"}; the end of it means stop
out  one JSON object a line: tapewright/watch/1; the last has kind "end" or "refused"
"""

import contextlib
import json
import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import TextIO

from tapewright.bench.live import Line
from tapewright.bench.live.marked import TrialsOnDisk
from tapewright.errors import TapewrightError
from tapewright.line.document import LineSettings
from tapewright.line.from_settings import DEFAULTS, line_settings
from tapewright.line.live.events import Event
from tapewright.line.live.live_line import LiveLine
from tapewright.line.live.watch import Moment, Until, Watch, raw_signal, report_of
from tapewright.line.live.watch_json import end_line, event_line, source_line
from tapewright.line.read import HowToRead, line_document
from tapewright.recordings.files.on_disk import CaptureFilesOnDisk
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.recorder import Recorder, write_through
from tapewright.recordings.live.sources import open_source

Tell = Callable[[Line], None]
ORDER, ALIVE_EVERY_S = "watch.json", 5.0
NOTHING = "the line was watched, but no character was struck"


def main() -> int:
    """Watch as the first line of the standard input says, until told to stop."""
    # Ctrl-C goes to the bench and to this process alike; the bench then says stop, and the recording is finished
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    order = json.loads(sys.stdin.readline())
    commands: queue.SimpleQueue[Line] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(sys.stdin, commands), daemon=True).start()
    try:
        watch_as_told(order, commands, _tell)
    except (TapewrightError, OSError) as refusal:
        _tell({"kind": "refused", "says": str(refusal)})
    return 0


def _tell(line: Line) -> None:
    sys.stdout.write(json.dumps(line, allow_nan=False) + "\n")
    sys.stdout.flush()


def _listen(pipe: TextIO, commands: "queue.SimpleQueue[Line]") -> None:
    for line in pipe:
        commands.put(json.loads(line))
    commands.put({"do": "stop"})


def watch_as_told(order: Line, commands: "queue.SimpleQueue[Line]", tell: Tell) -> None:
    """Watch, and tell what happens; at the end the figures of all of it.

    Raises:
        TapewrightError: when the source cannot be opened, or the recording cannot be measured.
    """
    said = DEFAULTS | {"nominal": order["nominal"], "alphabet": order["alphabet"]}
    settings = line_settings(said, None)
    source = open_source(order["source"], Asked(baud=settings.nominal_baud, **order["asked"]))
    keeper = None
    try:
        path = Path(order["record"]).with_suffix(".npy" if source.rate_hz else ".csv")
        # whoever finds the recording after a crash knows what it is
        said_by = path.with_name(ORDER)
        write_through(said_by, json.dumps({**order, "rate_hz": source.rate_hz}))
        threading.Thread(target=_alive, args=(said_by,), daemon=True).start()
        keeper = Recorder(path, source.rate_hz)
        trials = TrialsOnDisk(path.parent)
        watch = Watch(source, LiveLine(settings, source.rate_hz), keeper)
        tell({**source_line(source), "elements": settings.elements})
        _tell_all(watch, commands, order["most_s"], tell, trials)
    finally:
        source.close()
        if keeper is not None:
            keeper.close()
    tell({"kind": "ending"})
    failed = "" if watch.failed is None else str(watch.failed)
    tell(_ending(watch, settings) | {"trials": trials.bodies(), "failed": failed})


def _alive(said_by: Path) -> None:
    """Show other benches on the same book that this recording is somebody's, also while the line is quiet."""
    with contextlib.suppress(OSError):  # taken away: it is in the book
        while True:
            os.utime(said_by)
            time.sleep(ALIVE_EVERY_S)


def _tell_all(
    watch: Watch, commands: "queue.SimpleQueue[Line]", most_s: float, tell: Tell, trials: TrialsOnDisk
) -> None:
    """Tell every event as it happens; keep the trials."""
    for moment in watch.moments(Until(seconds=most_s)):
        if moment.event is not None:
            tell(_told(moment))
            trials.take(moment.event)
        while not commands.empty():
            for event in _obey(watch, commands.get()):
                trials.take(event)
                tell(event_line(event))


def _told(moment: Moment) -> Line:
    """Return the event; a character with the wall clock of the instant its stop began, for the page's own watch."""
    assert moment.event is not None
    line = event_line(moment.event, moment.screen_ms)
    if moment.screen_ms is not None:
        line["on_line_unix_ms"] = 1e3 * time.time() - moment.screen_ms
    return line


def _obey(watch: Watch, command: Line) -> list[Event]:
    """Do what the page says."""
    line = watch.line
    if command["do"] == "trial":
        return list(line.mark(command["label"]))
    {"hands-on": line.hands_on, "hands-off": line.hands_off, "stop": watch.stop}[command["do"]]()
    return []


def _ending(watch: Watch, settings: LineSettings) -> Line:
    """Return the last line."""
    raw = raw_signal(watch)
    if not watch.line.characters:
        return {"kind": "end", "record": "", "figures_from": NOTHING}
    if raw is None or watch.source.rate_hz is None:
        why = "this source gives edges or characters; the book keeps a raw signal that can be measured again"
        return end_line(watch.samples, watch.gaps, why, {}) | {"record": ""}
    report = report_of(watch, settings, HowToRead(None, watch.source.rate_hz, "auto"), files=CaptureFilesOnDisk())
    line = end_line(watch.samples, watch.gaps, "the raw signal", line_document(report))
    return line | {"record": str(raw), "rate_hz": watch.source.rate_hz}


if __name__ == "__main__":
    sys.exit(main())
