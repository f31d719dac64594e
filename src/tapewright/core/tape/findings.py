"""From measures to the part: findings in words, each pointing to a station of the chain."""

from collections.abc import Sequence

from tapewright.core.measurement import Reading
from tapewright.core.tape.reading import Feed, Finding, Track

PIN, FEED = "punch pin and die", "feed"


def find_parts(feed: Feed, tracks: Sequence[Track], codes: Sequence[str]) -> tuple[Finding, ...]:
    """Give the findings on one strip, the worst first; empty when nothing stands out."""
    found = [*_weak_pins(tracks), *_feed_faults(feed)]
    return tuple(sorted(found, key=lambda finding: -finding.rank))


def _weak_pins(tracks: Sequence[Track]) -> list[Finding]:
    found = []
    for track in tracks:
        if not track.partial:
            continue
        others = [t for t in tracks if t is not track]
        alone = sum(t.partial for t in others) == 0
        text = f"Track {track.track} is not cut clean in {track.partial} of {track.punched} holes"
        text += ", more often in rows of four and five holes" if _load_matters(track) else ""
        text += "; the other tracks are clean" if alone else ""
        text += f": pin {track.track} or its edge of the die, or stroke short on that side."
        found.append(Finding(PIN, text, 100.0 * track.partial / track.punched))
    return found


def _load_matters(track: Track) -> bool:
    """Say whether partial holes come oftener in rows of four and five holes (one-sided Fisher test below 0.05)."""
    heavy = [sum(track.by_load[m][i] for m in (4, 5)) for i in (0, 1)]
    light = [sum(track.by_load[m][i] for m in (1, 2, 3)) for i in (0, 1)]
    return _fisher(heavy[0], heavy[1], light[0], light[1]) < 0.05


def _fisher(bad: int, of: int, other_bad: int, other_of: int) -> float:
    """Give the chance of at least `bad` among `of`, if all partial holes were spread at random."""
    from math import comb

    total, all_bad = of + other_of, bad + other_bad
    ways = comb(total, all_bad)
    hits = sum(comb(of, k) * comb(other_of, all_bad - k) for k in range(bad, min(of, all_bad) + 1))
    return hits / ways


def _feed_faults(feed: Feed) -> list[Finding]:
    found = []
    if feed.period_rows and feed.period_mm is not None:
        found.append(Finding(FEED, _period_text(feed, feed.period_mm), 50.0))
    if feed.short_rows:
        rows = ", ".join(str(r) for r in feed.short_rows[:8])
        found.append(Finding(FEED, f"{len(feed.short_rows)} short steps (before rows {rows}): the feed pawl does not "
                             "take a full tooth, or the supply holds the tape back.", 60.0))  # fmt: skip
    if feed.long_rows:
        rows = ", ".join(str(r) for r in feed.long_rows[:8])
        found.append(Finding(FEED, f"{len(feed.long_rows)} long steps (before rows {rows}): the feed runs over; look "
                             "at the detent.", 40.0))  # fmt: skip
    return found


def _period_text(feed: Feed, size: Reading) -> str:
    if feed.period_kind == "one step":
        return (f"Every {feed.period_rows} rows one step differs by {size}: a tooth of the ratchet or the feed wheel; "
                f"count the teeth.")  # fmt: skip
    return f"The pitch swings by {size} once in {feed.period_rows} rows: the feed wheel runs out, or its bush is worn."
