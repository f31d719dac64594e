"""Verdicts on a strip: each measure against its limit. The built-in limits are marked as what they are: remembered."""

from collections.abc import Callable, Sequence

from tapewright.number import Limit, Reading, State, Verdict, judge, missing
from tapewright.number.reading import COVERAGE_FACTOR
from tapewright.number.verdict import refuse
from tapewright.reference import five_unit_tape as tape
from tapewright.tape.document import Strip
from tapewright.tape.scale import Scale

LIMITS: tuple[Limit, ...] = (
    tape.PITCH, tape.CUMULATIVE, tape.CODE_DIAMETER, tape.FEED_DIAMETER, tape.SKEW, tape.WIDTH, tape.FEED_TO_EDGE,
    tape.PARTIAL_SHARE,
)  # fmt: skip


def _code_diameter(strip: Strip) -> Reading:
    """The track that lies farthest from nominal."""
    known = [t.diameter_mm for t in strip.tracks if t.diameter_mm.value is not None]
    if not known:
        return missing("mm", "no whole code hole")
    return max(known, key=lambda r: abs((r.value or 0.0) - tape.CODE_HOLE_MM))


def _partial_share(strip: Strip) -> Reading:
    punched, partial = sum(t.punched for t in strip.tracks), sum(t.partial for t in strip.tracks)
    if not punched:
        return missing("percent", "no code hole")
    return Reading(100.0 * partial / punched, 0.0, "percent", punched, "counted")


#: check -> (unit, how to get it from a strip); what a limits file may name
MEASURES: dict[str, tuple[str, Callable[[Strip], Reading]]] = {
    tape.PITCH.check: ("mm", lambda strip: strip.feed.pitch_mm),
    tape.CODE_DIAMETER.check: ("mm", _code_diameter),
    tape.FEED_DIAMETER.check: ("mm", lambda strip: strip.feed.diameter_mm),
    tape.SKEW.check: ("mm", lambda strip: strip.feed.out_of_square_mm),
    tape.PARTIAL_SHARE.check: ("percent", _partial_share),
    tape.CUMULATIVE.check: ("mm", lambda strip: strip.feed.over_50_mm),
    tape.WIDTH.check: ("mm", lambda strip: strip.guide.width_mm),
    tape.FEED_TO_EDGE.check: ("mm", lambda strip: strip.guide.feed_to_three_hole_edge_mm),
    "feed scatter": ("mm", lambda strip: strip.feed.scatter_mm),
    "feed hole oval": ("mm", lambda strip: strip.feed.oval_mm),
}


#: where the scale comes from when the picture was surely or very likely taken flat, on a scanner
FLAT = ("given", "dpi tag")
MAYBE_SLANTED = (
    "without a resolution that can be believed the picture may be a photo, and one taken at a slant looks just like "
    "a die block out of square; lay the tape on a scanner, or give --dpi if it was"
)


def judge_tape(
    strips: Sequence[Strip], limits: Sequence[Limit], scale: Scale
) -> tuple[tuple[Verdict, ...], tuple[str, ...]]:
    """Judge every strip against every limit whose check is one of MEASURES.

    A built-in limit that is finer than the scale is known can be shown by no tape in this picture, however good: it is
    not judged but named, with what would help. Limits of the user's own are always judged.

    Returns:
        The verdicts, strip by strip, as many for each; and a note on the limits left out, none when there are none.
    """
    judged = {limit: [_judge(strip, limit, scale) for strip in strips] for limit in limits}
    too_fine = [limit for limit, verdicts in judged.items() if all(map(_finer_than_the_scale, verdicts))]
    kept = tuple(judged[limit][n] for n in range(len(strips)) for limit in limits if limit not in too_fine)
    if not too_fine:
        return kept, ()
    first = (judged[limit][0] for limit in too_fine)
    names = ", ".join(f"{v.limit.check} ({Reading(v.value, v.u, v.limit.unit)})" for v in first)
    note = (
        f"Not judged, being finer than this picture's scale is known: {names}. Scan a steel rule on the same "
        "scanner, work out the dots per inch from it, and give them with --dpi"
    )
    return kept, (note,)


def _finer_than_the_scale(verdict: Verdict) -> bool:
    limit = verdict.limit
    if verdict.state is not State.NOT_SHOWN or limit not in LIMITS or verdict.u is None:
        return False
    if limit.low is None or limit.high is None:
        return False
    return COVERAGE_FACTOR * verdict.u >= (limit.high - limit.low) / 2


def _judge(strip: Strip, limit: Limit, scale: Scale) -> Verdict:
    if limit.check == tape.SKEW.check and scale.source not in FLAT:
        return refuse(limit, MAYBE_SLANTED)
    return judge(MEASURES[limit.check][1](strip), limit)
