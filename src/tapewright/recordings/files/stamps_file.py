"""Stamped edges in a file: what a microcontroller wrote that stamps each change of a line (recordings.stamps)."""

from pathlib import Path

import numpy as np

from tapewright.recordings.capture import Recording
from tapewright.recordings.edges.change_list import edges_of_changes
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.stamps import FIRST, Stamps

NAME = "stamps"
LABEL, NEEDS_RATE = "stamped edges", False
WHAT = "stamped edges of a microcontroller, as text or in the short form, with gaps"
PIECE = 1 << 20


def looks_like(head: bytes) -> bool:
    """Return whether `head` begins with the form's first line."""
    return head[: len(FIRST)].lower() == FIRST


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read the one channel."""
    pick_channels(["1"], options.channel, path.name)
    stamps, seen_s = Stamps(path.name), 0.0
    times, values = [np.zeros(1)], [np.full(1, np.nan)]
    size, done = max(1, path.stat().st_size), 0
    with path.open("rb") as file:
        while data := file.read(PIECE):
            rows: list[tuple[float, float]] = []
            for stamp in stamps.feed(data):
                if stamp.kind == "gap":
                    rows += [(seen_s, np.nan), (stamp.at_s, np.nan if stamp.high is None else float(stamp.high))]
                elif stamp.kind == "edge":
                    rows.append((stamp.at_s, float(bool(stamp.high))))
                seen_s = stamp.at_s
            more = np.array(rows, float).reshape(-1, 2)
            times.append(more[:, 0])
            values.append(more[:, 1])
            done += len(data)
            if options.progress:
                options.progress(done / size)
    stamps.end()
    # the level at the beginning is told in the head, the first stamp may be an edge: it held from the tick before
    tick_s = 1 / stamps.rate_hz
    times[0][0], values[0][0] = -tick_s, float(stamps.starts_high)
    edges = edges_of_changes(
        np.concatenate(times),
        np.concatenate(values),
        quantum_s=tick_s,
        begin_s=-tick_s,
        end_s=seen_s,
        first_is_state=True,
        suspicions=stamps.suspicions,
    )
    return (Recording(edges, "stamped edges", "1", ("1",), int(sum(each.size for each in times)) - 1, None),)
