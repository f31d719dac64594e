"""What a tape document shows. Marks from which on something counts as found: common practice, no source."""

import statistics
from collections.abc import Callable, Mapping

from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.measured.fields import Document, Figure, Rule, at, beyond, figure, figure_of, number, tables

#: Shares of partial holes, millimetres.
PARTIAL_SHARE, SMALL_MM, OFF_MM, GRADIENT_MM, FULL_ROWS_SHARE = 0.1, 0.1, 0.12, 0.03, 0.05
FEWEST_ROWS, FEWEST_HOLES = 20, 8
STRIP = "strips.0"
#: What a reading of tape calls an error that sits at one row of the turn; anything else is a wave.
SHARP = ("sharp", "step", "tooth", "ratchet", "single")
#: Rows with so many holes are full, with so few nearly empty.
FULL, NEARLY_EMPTY = ("4", "5"), ("1", "2")


def never_punched(finding: str, document: Document) -> Answer | None:
    """A track without a hole on a tape where all others have many."""
    counts = _counts(document, "punched")
    if len(counts) < 5 or max(counts.values()) < FEWEST_HOLES:
        return None
    empty = [track for track, count in counts.items() if count == 0]
    if len(empty) == 1 and len(tables(document, f"{STRIP}.rows")) >= FEWEST_ROWS:
        how = f"track {empty[0]} has no hole, the others up to {max(counts.values()):g}"
        return yes(finding, how, f"track {empty[0]}")
    return None if empty else no(finding, "every track is punched")


def one_track_partial(finding: str, document: Document) -> Answer | None:
    """Partial holes in one track, few in the others."""
    shares = _partial(document)
    if len(shares) < 3:
        return None
    worst = max(shares, key=lambda track: shares[track].value)
    others = statistics.median(share.value for track, share in shares.items() if track != worst)
    how = f"track {worst}: {100 * shares[worst].value:.0f} % partial holes, the others {100 * others:.0f} %"
    if others > PARTIAL_SHARE:
        return no(finding, how)
    return beyond(finding, shares[worst], PARTIAL_SHARE, how, above=True, at=f"track {worst}")


def all_tracks_partial(finding: str, document: Document) -> Answer | None:
    """Partial holes in every track."""
    shares = _partial(document)
    if len(shares) < 3:
        return None
    least = min(shares, key=lambda track: shares[track].value)
    how = f"the best track, {least}, has {100 * shares[least].value:.0f} % partial holes"
    return beyond(finding, shares[least], PARTIAL_SHARE, how, above=True)


def gradient(finding: str, document: Document) -> Answer | None:
    """Hole diameter falls or rises steadily from track to track."""
    sizes = _figures(document, "diameter_mm")
    if len(sizes) < 5:
        return None
    tracks = sorted(sizes)
    centre = statistics.fmean(tracks)
    spread = sum((t - centre) ** 2 for t in tracks)
    slope = sum((t - centre) * sizes[t].value for t in tracks) / spread
    u = max(statistics.fmean(s.u or 0.01 for s in sizes.values()) / spread**0.5, 0.003)
    left = statistics.pstdev(sizes[t].value - slope * (t - centre) for t in tracks)
    how = f"hole diameter changes by {slope:+z.3f} mm from track to track"
    if left > 2.0 * abs(slope):
        return no(finding, how + ", but not steadily")
    return beyond(finding, Figure(abs(slope), u, "mm"), GRADIENT_MM, how, above=True)


def one_track_small(finding: str, document: Document) -> Answer | None:
    """One track's holes are smaller than those of the others."""
    return _odd_track(finding, document, "diameter_mm", SMALL_MM, lambda difference: -difference)


def one_track_displaced(finding: str, document: Document) -> Answer | None:
    """One track's holes stand beside the line of the others."""
    along = _odd_track(finding, document, "along_mm", OFF_MM, abs)
    across = _odd_track(finding, document, "across_mm", OFF_MM, abs)
    both = [answer for answer in (along, across) if answer is not None]
    return max(both, key=lambda answer: answer.if_present / max(answer.if_absent, 1e-9), default=None)


def code_off_feed(finding: str, document: Document) -> Answer | None:
    """All tracks stand ahead of or behind the feed holes by the same amount."""
    offsets = _figures(document, "along_mm")
    advanced = figure(document, f"{STRIP}.feed.advanced_mm")
    if advanced is not None:
        return beyond(finding, Figure(abs(advanced.value), advanced.u or 0.02, "mm"), OFF_MM,
                      f"feed holes stand {advanced} ahead", above=True)  # fmt: skip
    if len(offsets) < 3:
        return None
    middle = statistics.median(f.value for f in offsets.values())
    u = max(statistics.fmean(f.u or 0.02 for f in offsets.values()), 0.01)
    how = f"code holes stand {middle:+z.2f} mm off the feed holes"
    return beyond(finding, Figure(abs(middle), u, "mm"), OFF_MM, how, above=True)


def sharp_period(finding: str, document: Document) -> Answer | None:
    """One sharp pitch error every so many rows."""
    return _period(finding, document, sharp=True)


def smooth_period(finding: str, document: Document) -> Answer | None:
    """A wave in the pitch."""
    return _period(finding, document, sharp=False)


def _period(finding: str, document: Document, *, sharp: bool) -> Answer | None:
    feed = at(document, f"{STRIP}.feed")
    if not isinstance(feed, Mapping) or figure(document, f"{STRIP}.feed.pitch_mm") is None:
        return None
    rows = number(feed.get("period_rows"))
    if rows is None:
        return no(finding, "the feed error does not repeat")
    kind = str(feed.get("period_kind") or ("sharp" if feed.get("short_rows") or feed.get("long_rows") else "smooth"))
    is_sharp = any(word in kind.lower() for word in SHARP)
    how = f"feed error repeats every {rows:g} rows, {kind}"
    return yes(finding, how) if is_sharp == sharp else no(finding, how)


def extra_holes(finding: str, document: Document) -> Answer | None:
    """One track has holes that were not sent."""
    elements = tables(document, f"{STRIP}.errors.by_element")
    extra = {str(e.get("element")): number(e.get("drop_space")) or 0.0 for e in elements}
    if not extra:
        return None
    worst = max(extra, key=lambda element: extra[element])
    if extra[worst] >= 2 and extra[worst] >= 0.7 * sum(extra.values()):
        return yes(finding, f"track {worst} has {extra[worst]:g} holes that were not sent", f"track {worst}")
    return no(finding, "no track stands out with holes that were not sent")


def overpunched(finding: str, document: Document) -> Answer | None:
    """Rows punched over each other: OR with the row before, fewer rows than sent."""
    kinds = at(document, f"{STRIP}.errors.kinds")
    if not isinstance(kinds, Mapping):
        return None
    both, lost = number(kinds.get("OR with previous")) or 0.0, number(kinds.get("loss")) or 0.0
    how = f"{both:g} rows hold two codes, {lost:g} rows are missing"
    return yes(finding, how) if both >= 1 and lost >= 1 else no(finding, how)


def worse_in_full_rows(finding: str, document: Document) -> Answer | None:
    """Partial holes more frequent in rows with four and five holes than in rows with one and two."""
    full, empty = _by_load(document, FULL), _by_load(document, NEARLY_EMPTY)
    if full is None or empty is None:
        return None
    u = ((full.u or 0.0) ** 2 + (empty.u or 0.0) ** 2) ** 0.5
    more = Figure(full.value - empty.value, max(u, 0.005), "")
    how = f"{100 * full.value:.0f} % partial holes in full rows, {100 * empty.value:.0f} % in rows of one and two"
    return beyond(finding, more, FULL_ROWS_SHARE, how, above=True)


def _by_load(document: Document, rows: tuple[str, ...]) -> Figure | None:
    """Share of partial holes in rows with so many holes, over all tracks."""
    partial = punched = 0.0
    for track in tables(document, f"{STRIP}.tracks"):
        for key in rows:
            pair = at(track, f"partial_by_holes_in_row.{key}")
            if isinstance(pair, list) and len(pair) == 2:
                partial, punched = partial + (number(pair[0]) or 0.0), punched + (number(pair[1]) or 0.0)
    if punched < FEWEST_HOLES or not 0 <= partial <= punched:
        return None
    share = partial / punched
    return Figure(share, (share * (1 - share) / punched) ** 0.5, "")


def _counts(document: Document, key: str) -> dict[int, float]:
    out = {}
    for track in tables(document, f"{STRIP}.tracks"):
        which, value = number(track.get("track")), number(track.get(key))
        if which is not None and value is not None:
            out[int(which)] = value
    return out


def _partial(document: Document) -> dict[int, Figure]:
    punched, partial = _counts(document, "punched"), _counts(document, "partial")
    out = {}
    for track, n in punched.items():
        if n >= FEWEST_HOLES and track in partial:
            share = min(1.0, partial[track] / n)
            out[track] = Figure(share, max((share * (1 - share) / n) ** 0.5, 0.5 / n), "")
    return out


def _figures(document: Document, key: str) -> dict[int, Figure]:
    out = {}
    for track in tables(document, f"{STRIP}.tracks"):
        which, found = number(track.get("track")), figure_of(track.get(key))
        if which is not None and found is not None:
            out[int(which)] = found
    return out


def _odd_track(
    finding: str, document: Document, key: str, mark: float, size: Callable[[float], float]
) -> Answer | None:
    found = _figures(document, key)
    if len(found) < 3:
        return None
    middle = statistics.median(f.value for f in found.values())
    worst = max(found, key=lambda track: size(found[track].value - middle))
    difference = found[worst].value - middle
    u = max(found[worst].u or 0.02, 0.01)
    how = f"track {worst} differs from the middle of the others by {difference:+z.2f} mm"
    return beyond(finding, Figure(size(difference), u, "mm"), mark, how, above=True, at=f"track {worst}")


RULES: dict[str, Rule] = {
    "a track is never punched": never_punched,
    "one track partial": one_track_partial,
    "all tracks partial": all_tracks_partial,
    "gradient across the tracks": gradient,
    "one track small": one_track_small,
    "one track displaced": one_track_displaced,
    "code holes ahead or behind": code_off_feed,
    "sharp periodic pitch error": sharp_period,
    "smooth periodic pitch error": smooth_period,
    "a track has extra holes": extra_holes,
    "rows punched over each other": overpunched,
    "worse in full rows": worse_in_full_rows,
}
