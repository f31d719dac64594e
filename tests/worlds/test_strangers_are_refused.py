"""Signals that are no five-unit line, by somebody who had not read what measures: none is proven, none stops it.

Allowed is what nobody can tell apart: four elements with a stop of two units are five elements of which the last is
always mark, which is also what a contact 5 that never opens would send.
"""

import numpy as np
import pytest

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.recordings.capture import RawEdges
from worlds.line.strangers import STRANGERS

LOOKS_LIKE_A_STUCK_CONTACT = "start-stop, 4 elements"


#: tones and noise are always samples, and have no edges of their own
WITH_EDGES = [kind for kind, draw in STRANGERS.items() if getattr(draw(0), "edges_s", None) is not None]


@pytest.mark.parametrize("kind", WITH_EDGES)
def test_no_stranger_is_proven(kind):
    for seed in range(2):
        recording = STRANGERS[kind](seed)
        times = recording.edges_s
        after = np.asarray(recording.mark_after, bool)
        edges = RawEdges(np.asarray(times, float), after, np.full(len(times), 1e-5), bool(recording.mark_first), 0.0,
                         float(max(times, default=0.0)) + 0.3)  # fmt: skip
        found = measure_line(edges, LineSettings(ITA2))
        assert kind == LOOKS_LIKE_A_STUCK_CONTACT or not (found.speed.proven and found.codes), found.text
