"""Are the stated uncertainties of `line read` true outside its own model? Machines by somebody who had not read it.

python benchmarks/line_worlds.py                          twelve machines of each world, some three minutes
python benchmarks/line_worlds.py 40 warming "two swings"  forty machines of these worlds only

For each world and figure: how many, the share of truths within 2u (95 per cent is right), the root mean square of
error / u (1 is right, below 1 is needlessly wide; each counted as 6 at most), the largest, and the median u. At the end
the same over all worlds, what was misread, and swings that were shown where there is none.

What a line cannot know is not asked: latenesses that grow evenly over the turn are the unit's, and what all closings or
all openings have in common is bias and end distortion.
"""

import sys
import time
from collections import defaultdict
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.recordings.capture import RawEdges
from worlds.line.machines import MACHINES

MOST = 6.0
SWINGS = ("hunting", "swing", "tired", "wheel", "sagging", "warming", "clutch")


def edges_of(recording):
    """Return the edges as exact times."""
    times = np.asarray(recording.edges_s, float)
    return RawEdges(times, np.asarray(recording.mark_after, bool), np.full(times.size, 1e-9),
                    bool(recording.mark_first), 0.0, recording.duration_s)  # fmt: skip


def truths_of(truth):
    """Return what the line can show, by name: unit in ms, latenesses in ms, shares in per cent of a unit."""
    contacts, unit_ms = truth.contacts, truth.drive.unit_over_characters_ms
    electrical = contacts.parts["electrical"]
    closing = contacts.raw.closing_ms - electrical.closing_ms
    opening = contacts.raw.opening_ms - electrical.opening_ms
    common = np.array([electrical.closing_ms[0], electrical.opening_ms[0]]) - contacts.start_raw_ms
    slip = contacts.parts["slip"]  # lost at the start: what the start and all instants have in common, and its scatter
    late = float(np.mean(np.concatenate((slip.closing_ms, slip.opening_ms))))
    closing, opening, common = closing - late, opening - late, common + late
    if truth.kind == "contacts later and later":  # the unit's
        slope = np.polyfit(np.arange(1, 7), closing, 1)[0]
        unit_ms, closing = unit_ms + slope, closing - slope * np.arange(1, 7)
        opening = opening - slope * np.arange(2, 7)
    if truth.kind in ("end distorted", "split marks"):  # what all have in common
        common[1] += opening.mean()
        opening = opening - opening.mean()
    start_ms = float(np.hypot(truth.start_jitter_ms, late))
    widths = opening + common[1] - closing[:5] - common[0]
    return {
        "unit": unit_ms,
        "bias": -100 * common[0] / unit_ms,
        "end": 100 * common[1] / unit_ms,
        "scatter": 100 * float(np.hypot(truth.scatter_ms, start_ms)) / unit_ms,
        "closing": closing,
        "opening": opening,
        "width": 100 * (1 + widths / unit_ms),
    }


def pairs_of(result, truth):
    """Return (figure, error, u) of one machine."""
    known = truths_of(truth)
    readings = [
        ("unit", result.speed.unit_ms, known["unit"]),
        ("bias", result.distortion.marking_bias_percent, known["bias"]),
        ("end", result.distortion.end_percent, known["end"]),
        ("scatter", result.distortion.scatter_percent, known["scatter"]),
    ]
    if truth.drive.drift_percent:
        readings.append(("drift", result.speed.drift_percent, truth.drive.drift_percent))
    for k, contact in enumerate(result.contacts):
        readings.append(("contact", contact.closing_late_ms, known["closing"][k]))
        if k < 4:
            readings.append(("contact", contact.opening_late_ms, known["opening"][k]))
            readings.append(("width", contact.mark_percent, known["width"][k]))
        next_late = getattr(contact, "closes_after_neighbour_ms", None)
        if k and next_late is not None:
            readings.append(("neighbour", next_late, known["closing"][k] - known["closing"][k - 1]))
    return [(name, r.value - t, r.u) for name, r, t in readings if r.value is not None and r.u]


def row(name, pairs):
    """Print one line."""
    z = np.array([abs(error) / u for _, error, u in pairs])
    u = np.median([u for _, _, u in pairs])
    rms = np.sqrt(np.mean(np.minimum(z, MOST) ** 2))
    bad = "" if len(z) < 10 or (np.mean(z <= 2) >= 0.9 and rms <= 1.15) else "  <"
    print(f"{name:<46}{len(z):>6}{100 * np.mean(z <= 2):>8.1f}%{rms:>7.2f}{z.max():>8.1f}{u:>10.4f}{bad}")


def main(machines, kinds):
    """Measure and print."""
    total, misread, shown, began, runs = defaultdict(list), [], [], time.process_time(), 0
    print(f"{'world: figure':<46}{'n':>6}{'in 2u':>9}{'rms':>7}{'worst':>8}{'median u':>10}")
    for kind in kinds:
        found = defaultdict(list)
        for seed in range(machines):
            recording = MACHINES[kind](seed)
            truth, runs = recording.truth, runs + 1
            result = measure_line(edges_of(recording), LineSettings(ITA2))
            sent = [c for c, whole in zip(truth.codes, truth.whole, strict=True) if whole]
            if list(result.codes) != sent:
                misread.append(f"{kind!r}, {seed}: {len(result.codes)} of {len(sent)} characters, "
                               f"{'proven' if result.speed.proven else 'not proven'}")  # fmt: skip
                continue
            if result.speed.ripple_percent.value is not None and not any(word in kind for word in SWINGS):
                shown.append(f"{kind!r}, {seed}: {result.speed.ripple_percent} at {result.speed.ripple_hz}")
            for name, error, u in pairs_of(result, truth):
                found[name].append((seed, error, u))
        for name, pairs in found.items():
            row(f"{kind}: {name}", pairs)
            total[name] += pairs
    print()
    for name, pairs in total.items():
        row(f"all: {name}", pairs)
    print(f"\n{len(misread)} of {runs} misread", *misread, sep="\n  ")
    print(f"\n{len(shown)} swings shown where there is none", *shown, sep="\n  ")
    print(f"\n{1e3 * (time.process_time() - began) / max(runs, 1):.0f} ms of processor time a machine")
    return 0


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    sys.exit(main(*(numbers or [12]), [kind for kind in MACHINES if kind in sys.argv] or list(MACHINES)))
