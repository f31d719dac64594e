"""A tape reading as the JSON document "tapewright/tape/1"."""

from collections.abc import Iterable
from typing import Any

from tapewright.furniture.document import to_builtins
from tapewright.furniture.json_values import judged, measured
from tapewright.message.document import errors
from tapewright.number import Reading
from tapewright.tape.document import Feed, Guide, Hole, Row, StripReading, Track
from tapewright.tape.read import TapeReport


def tape_document(report: TapeReport) -> dict[str, Any]:
    """Return the whole document."""
    reading = report.reading
    return {
        "format": "tapewright/tape/1",
        "source": {
            "file": report.file, "sha256": report.sha256,
            "width_px": reading.width_px, "height_px": reading.height_px,
        },
        "scale": {
            "px_per_mm": measured(reading.scale.px_per_mm), "from": reading.scale.source,
            "notes": [*reading.scale.notes, *reading.not_judged],
        },
        "holes": "lighter than the paper" if reading.light_holes else "darker than the paper",
        "suspicions": list(reading.suspicions),
        "strips": [_strip(strip) for strip in reading.strips],
        "verdicts": [judged(verdict) for verdict in reading.verdicts],
    }  # fmt: skip


def _strip(strip: StripReading) -> dict[str, Any]:
    other = None
    if strip.other_codes is not None:
        other = {"text": strip.other_text, "codes": list(strip.other_codes)}
    return {
        "turned": strip.turned, "mirrored": strip.mirrored,
        "direction_sure": strip.direction.sure and strip.side_sure,
        "direction_from": strip.direction.because,
        "text": strip.text, "codes": list(strip.codes), "other_reading": other,
        "rows": [_row(row) for row in strip.rows],
        "feed": _feed(strip.feed),
        "guide": _guide(strip.guide),
        "tracks": [_track(track) for track in strip.tracks],
        "findings": [{"station": f.station, "text": f.text} for f in strip.findings],
        "notes": list(strip.notes),
        "errors": None if strip.comparison is None else to_builtins(errors(strip.comparison)),
    }  # fmt: skip


def _row(row: Row) -> dict[str, Any]:
    return {
        "row": row.row, "code": row.code, "x_px": round(row.x_px, 3), "y_px": round(row.y_px, 3),
        "holes": [_hole(hole) for hole in row.holes], "notes": list(row.notes),
    }  # fmt: skip


def _hole(hole: Hole) -> dict[str, Any]:
    return {
        "track": hole.track, "state": hole.state.value, "open_fraction": round(hole.open_fraction, 3),
        "diameter_mm": _rounded(hole.diameter_mm), "along_mm": _rounded(hole.along_mm),
        "across_mm": _rounded(hole.across_mm), "x_px": round(hole.x_px, 3), "y_px": round(hole.y_px, 3),
    }  # fmt: skip


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)


def _feed(feed: Feed) -> dict[str, Any]:
    return {
        "pitch_mm": measured(feed.pitch_mm), "scatter_mm": measured(feed.scatter_mm),
        "worst_cumulative_mm": measured(feed.worst_cumulative_mm), "worst_row": feed.worst_row,
        "over_50_mm": measured(feed.over_50_mm), "over_50_row": feed.over_50_row,
        "period_rows": feed.period_rows, "period_kind": feed.period_kind, "period_mm": measured(feed.period_mm),
        "short_rows": list(feed.short_rows), "long_rows": list(feed.long_rows),
        "diameter_mm": measured(feed.diameter_mm), "oval_mm": measured(feed.oval_mm),
        "advanced_mm": measured(feed.advanced_mm), "out_of_square_mm": measured(feed.square_mm),
        "notes": _reasons(feed),
    }  # fmt: skip


def _guide(guide: Guide) -> dict[str, Any]:
    readings = (guide.width_mm, guide.edge_mm, guide.off_mm)
    return {
        "width_mm": measured(guide.width_mm), "feed_to_three_hole_edge_mm": measured(guide.edge_mm),
        "off_mm": measured(guide.off_mm), "notes": _why_missing(readings),
    }  # fmt: skip


def _why_missing(readings: Iterable[Reading]) -> list[str]:
    """Say why a figure is null."""
    return sorted({reading.how for reading in readings if reading.value is None and reading.how})


def _reasons(feed: Feed) -> list[str]:
    readings = (feed.pitch_mm, feed.over_50_mm, feed.diameter_mm, feed.oval_mm, feed.advanced_mm, feed.square_mm)
    return _why_missing(readings)


def _track(track: Track) -> dict[str, Any]:
    return {
        "track": track.track, "punched": track.punched, "partial": track.partial,
        "diameter_mm": measured(track.diameter_mm), "along_mm": measured(track.along_mm),
        "across_mm": measured(track.across_mm),
        "partial_by_holes_in_row": {str(m): list(pair) for m, pair in track.by_load.items()},
        "partial_after_punched": list(track.after[True]), "partial_after_absent": list(track.after[False]),
    }  # fmt: skip
