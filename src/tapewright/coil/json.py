"""What a recorded coil current says, as the JSON document tapewright/coil/1."""

from collections.abc import Sequence
from typing import Any

from tapewright.coil.cautions import GENERAL, READ_CAUTIONS
from tapewright.coil.compare import Change
from tapewright.coil.document import ClosingReport
from tapewright.coil.read import CoilReading
from tapewright.furniture.json_values import measured
from tapewright.recordings.files.on_disk import sha256

FORMAT = "tapewright/coil/1"


def coil_document(reading: CoilReading, compared: Sequence[Change] | None, other: CoilReading | None) -> dict[str, Any]:
    """Return the document."""
    s = reading.signature
    return {
        "format": FORMAT,
        "cautions": [*READ_CAUTIONS, GENERAL],
        "source": {
            "file": reading.path.name,
            "sha256": sha256(reading.path),
            "channel": reading.samples.channel,
            "samples": int(reading.samples.values.size),
            "rate_hz": reading.samples.rate_hz,
            "inverted": s.prepared.inverted,
            "offset_a": s.prepared.offset_a,
            "noise_a": s.prepared.noise_a,
        },
        "resistance_ohm": measured(s.resistance_ohm),
        "inductance_h": measured(s.inductance_h),
        "inductance_landed_h": measured(s.inductance_landed_h),
        "tau_ms": measured(s.tau_ms),
        "moved": s.moved,
        "landing_ms": measured(s.landing),
        "scatter_ms": measured(s.scatter),
        "release_ms": measured(s.release),
        "closures": [_closure(report) for report in s.closings],
        "instrument": [
            {"suspicion": doubt, "evidence": doubt, "do": "Record directly coupled, across a shunt."}
            for doubt in s.prepared.doubts
        ],
        "comparison": None if compared is None or other is None else {
            "with": other.path.name, "changes": [_change(change) for change in compared]
        },
        "notes": list(s.notes),
    }  # fmt: skip


def _closure(report: ClosingReport) -> dict[str, Any]:
    read = report.read
    return {
        "on_s": read.on_s,
        "moved": read.moved,
        "why": read.why,
        "level_a": measured(read.level_a),
        "landing_ms": measured(read.landing),
        "travel_ms": measured(read.travel),
        "bounce_ms": measured(read.bounce),
        "release_ms": measured(report.release),
        "slow": report.slow,
        "further_dips_ms": [time * 1e3 for time in read.extra_kinks_s],
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "name": change.name,
        "before": measured(change.before),
        "after": measured(change.after),
        "change": measured(change.change),
        "shown": change.shown,
    }
