"""From measures to the part: findings in words, each pointing to a station of the chain."""

from collections.abc import Sequence
from dataclasses import dataclass

from tapewright.number import Reading
from tapewright.tape.document import Feed, Finding, Guide, Track

PIN, FEED = "punch pin and die", "feed"
#: Feed holes longer than wide by this are worth a word; beyond OVAL_SIDE_MM the offset is that of advanced feed holes.
OVAL_FROM_MM, OVAL_SIDE_MM = 0.05, 0.2
SKEW_MM = 0.1
GUIDE_MM = 0.1
#: Holes in every other track from which a track without one is worth a word; a text of so many that has none there is a
#: rare one (owner's choice). Holes off their place by so much, in so many holes (common practice, no source).
FEWEST_BESIDE, OFF_MM, FEWEST_OFF = 8, 0.1, 5
#: With this share of partial holes in so many tracks it is no single pin.
ALL_PARTIAL, MOST_TRACKS = 0.1, 5


@dataclass(frozen=True, slots=True)
class _Part:
    """A finding with its rank: larger is worse, and shown first."""

    station: str
    text: str
    rank: float


def find_parts(feed: Feed, guide: Guide, tracks: Sequence[Track], *, flat: bool) -> tuple[Finding, ...]:
    """Return the findings on one strip, the worst first; empty when nothing stands out.

    On a tape that is curled or photographed at a slant (not `flat`) nothing is said of square, steps and guide.
    """
    found = [*_dead_pins(tracks), *_weak_pins(tracks), *_displaced(tracks)]
    if flat:
        found += [*_feed_faults(feed), *_out_of_square(feed), *_off_its_guide(guide)]
    return tuple(Finding(station=f.station, text=f.text) for f in sorted(found, key=lambda part: -part.rank))


def _dead_pins(tracks: Sequence[Track]) -> list[_Part]:
    """Return a finding for a track without a hole beside tracks with many."""
    least = sorted(track.punched for track in tracks)
    silent = [track.track for track in tracks if not track.punched]
    if len(silent) != 1 or least[1] < FEWEST_BESIDE:
        return []
    text = (
        f"Track {silent[0]} has no hole at all, the others {least[1]} to {least[-1]}: pin {silent[0]}, its lever or "
        "its interposer does not work, unless the text has no hole there."
    )
    return [_Part(PIN, text, 150.0)]


def _displaced(tracks: Sequence[Track]) -> list[_Part]:
    """Return findings for tracks whose holes all lie off their place."""
    found = []
    for track in tracks:
        for reading, ways in (
            (track.along_mm, ("towards later rows", "towards earlier rows")),
            (track.across_mm, ("towards track 5", "towards track 1")),
        ):
            off, doubt = reading.value, reading.expanded
            if off is None or doubt is None or track.punched < FEWEST_OFF or abs(off) < OFF_MM + doubt:
                continue
            text = f"Track {track.track} stands {abs(off):.2f} mm off its place, {ways[off < 0]}, in all its holes: "
            text += f"pin {track.track} is bent, or its guide or its hole of the die is worn."
            found.append(_Part(PIN, text, 35.0))
    return found


def _weak_pins(tracks: Sequence[Track]) -> list[_Part]:
    if sum(track.partial >= max(ALL_PARTIAL * track.punched, 1) for track in tracks) >= MOST_TRACKS:
        partial, punched = sum(track.partial for track in tracks), sum(track.punched for track in tracks)
        text = (
            f"No track is cut clean: {partial} of {punched} holes are partial, in every track. Look at what all pins "
            "share: the stroke of the punch, the die block, the tape."
        )
        return [_Part(PIN, text, 100.0 * partial / punched)]
    found = []
    for track in tracks:
        if not track.partial:
            continue
        others = [t for t in tracks if t is not track]
        alone = sum(t.partial for t in others) == 0
        text = f"Track {track.track} is not cut clean in {track.partial} of {track.punched} holes"
        text += ", more often in rows of four and five holes" if _load_matters(track) else ""
        text += _after_text(track)
        text += "; the other tracks are clean" if alone else ""
        text += f": pin {track.track} or its edge of the die, or stroke short on that side."
        found.append(_Part(PIN, text, 100.0 * track.partial / track.punched))
    return found


def _after_text(track: Track) -> str:
    """Return whether partial holes come oftener when the pin had worked, or rested, in the row before."""
    (worked, of), (rested, other) = track.partial_after_punched, track.partial_after_absent
    if _fisher(worked, of, rested, other) < 0.01:
        return ", more often when it was punched in the row before too"
    return ", more often when it rested in the row before" if _fisher(rested, other, worked, of) < 0.01 else ""


def _load_matters(track: Track) -> bool:
    """Return whether partial holes come oftener in rows of four and five holes (one-sided Fisher test below 0.05)."""
    heavy = [sum(track.partial_by_holes_in_row[m][i] for m in "45") for i in (0, 1)]
    light = [sum(track.partial_by_holes_in_row[m][i] for m in "123") for i in (0, 1)]
    return _fisher(heavy[0], heavy[1], light[0], light[1]) < 0.05


def _fisher(bad: int, of: int, other_bad: int, other_of: int) -> float:
    """Return the chance of at least `bad` among `of`, if all partial holes were spread at random."""
    from math import comb

    total, all_bad = of + other_of, bad + other_bad
    ways = comb(total, all_bad)
    hits = sum(comb(of, k) * comb(other_of, all_bad - k) for k in range(bad, min(of, all_bad) + 1))
    return hits / ways


def _feed_faults(feed: Feed) -> list[_Part]:
    found = []
    if feed.period_rows:
        found.append(_Part(FEED, _period_text(feed, feed.period_mm), 50.0))
    found += _pulled(feed)
    if feed.short_rows:
        rows = ", ".join(str(r) for r in feed.short_rows[:8])
        found.append(_Part(FEED, f"{len(feed.short_rows)} short steps (before rows {rows}): the feed pawl does not "
                             "take a full tooth, or the supply holds the tape back.", 60.0))  # fmt: skip
    if feed.long_rows:
        rows = ", ".join(str(r) for r in feed.long_rows[:8])
        found.append(_Part(FEED, f"{len(feed.long_rows)} long steps (before rows {rows}): the feed runs over; look "
                             "at the detent.", 40.0))  # fmt: skip
    return found


def _pulled(feed: Feed) -> list[_Part]:
    """Feed holes longer than wide: the tooth has pulled at them, or the tape moved while the pins were through it."""
    oval, ahead = feed.oval_mm, feed.advanced_mm
    if oval.value is None or oval.expanded is None or oval.value < OVAL_FROM_MM + oval.expanded:
        return []
    side = ""
    if ahead.value is not None and ahead.expanded is not None and OVAL_SIDE_MM > abs(ahead.value) > ahead.expanded:
        early = ahead.value > 0
        side = " towards earlier rows: drag of the supply" if early else " towards later rows: pull of the take-up"
    text = f"The feed holes are pulled longer than wide by {oval}{side}."
    text += "" if side else " Look at supply drag, take-up, and whether the feed starts while the pins are in the tape."
    return [_Part(FEED, text, 30.0)]


def _out_of_square(feed: Feed) -> list[_Part]:
    """Return a finding when track 5 stands off track 1 by more than the remembered tolerance."""
    skew = feed.out_of_square_mm
    if skew.value is None or skew.expanded is None or abs(skew.value) < SKEW_MM + skew.expanded:
        return []
    way = "behind" if skew.value > 0 else "ahead of"
    text = f"Track 5 stands {way} track 1 by {abs(skew.value):.2f} mm: the die block is out of square, "
    return [_Part(PIN, text + "or the picture was taken at a slant.", 20.0)]


def _off_its_guide(guide: Guide) -> list[_Part]:
    """Return a finding when all holes lie off their place across the tape by more than the remembered tolerance."""
    off = guide.off_mm
    if off.value is None or off.expanded is None or abs(off.value) < GUIDE_MM + off.expanded:
        return []
    way = "the three-hole edge" if off.value > 0 else "the two-hole edge"
    text = f"All holes lie {abs(off.value):.2f} mm too near to {way}: the tape guide, or tape of another width."
    return [_Part(FEED, text, 25.0)]


def _period_text(feed: Feed, size: Reading) -> str:
    if feed.period_kind == "one step":
        return (f"Every {feed.period_rows} rows one step differs by {size}: a tooth of the ratchet or the feed wheel; "
                f"count the teeth.")  # fmt: skip
    return f"The pitch swings by {size} once in {feed.period_rows} rows: the feed wheel runs out, or its bush is worn."
