"""What was read from one picture: rows, holes, feed, tracks, text, verdicts. Plain values, ready to be written down."""

from dataclasses import dataclass

from tapewright.message import Comparison
from tapewright.number import Reading, Verdict
from tapewright.tape.direction import Direction
from tapewright.tape.holes import HoleState
from tapewright.tape.scale import Scale


@dataclass(frozen=True, slots=True)
class Hole:
    """One position of one row.

    Attributes:
        track: 1 to 5, the element it carries.
        state: clean, partial or absent.
        open_fraction: open area over that of a clean hole of this strip; 0 when absent.
        diameter_mm: diameter of a clean hole, else None.
        along_mm: centre from its place in the grid, + towards later rows; None unless clean.
        across_mm: the same, + towards track 5.
        x_px: centre in the picture (where the hole should be, when absent).
        y_px: the same, downwards.
    """

    track: int
    state: HoleState
    open_fraction: float
    diameter_mm: float | None
    along_mm: float | None
    across_mm: float | None
    x_px: float
    y_px: float


@dataclass(frozen=True, slots=True)
class Row:
    """One row in reading order.

    Attributes:
        row: number from 0, as `codes` counts.
        code: element 1 first; a partial hole counts as punched.
        x_px: feed hole centre in the picture.
        y_px: the same, downwards.
        holes: tracks 1 to 5.
        notes: what is odd about the row.
    """

    row: int
    code: str
    x_px: float
    y_px: float
    holes: tuple[Hole, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Feed:
    """The feed row.

    Attributes:
        pitch_mm: by regression over the run.
        scatter_mm: standard deviation of single steps.
        worst_cumulative_mm: largest distance of a feed hole from the even grid of that pitch.
        worst_row: where.
        over_50_mm: the worst stretch of 50 steps against 50 nominal ones, + too long; the doubt of the scale counts.
        over_50_row: the row it begins at.
        period_rows: after how many rows the pitch error comes back, None when it does not.
        period_kind: "one step" (a tooth) or "wave" (an eccentric wheel), None without a period.
        period_mm: size of that error: the odd step's difference, or the wave's amplitude.
        short_rows: rows that came too soon after the one before.
        long_rows: rows that came too late.
        diameter_mm: mean diameter of the feed holes.
        oval_mm: length along the tape less width across, of the mean feed hole.
        advanced_mm: feed hole ahead of its row, + towards the beginning.
        square_mm: how much track 5 lies behind track 1 (along), block out of square.
    """

    pitch_mm: Reading
    scatter_mm: Reading
    worst_cumulative_mm: Reading
    worst_row: int | None
    over_50_mm: Reading
    over_50_row: int | None
    period_rows: int | None
    period_kind: str | None
    period_mm: Reading | None
    short_rows: tuple[int, ...]
    long_rows: tuple[int, ...]
    diameter_mm: Reading
    oval_mm: Reading
    advanced_mm: Reading
    square_mm: Reading


@dataclass(frozen=True, slots=True)
class Guide:
    """How the tape ran in its guide.

    Attributes:
        width_mm: edge to edge.
        edge_mm: feed line to the three-hole edge.
        off_mm: how far all holes lie off their place across the tape, + towards track 5.
    """

    width_mm: Reading
    edge_mm: Reading
    off_mm: Reading


@dataclass(frozen=True, slots=True)
class Track:
    """One track over the whole strip.

    Attributes:
        track: 1 to 5.
        punched: holes, clean and partial.
        partial: partial ones among them.
        diameter_mm: mean diameter of clean holes.
        along_mm: mean distance from the grid along the tape, + towards later rows.
        across_mm: the same across, + towards track 5.
        by_load: holes in the row (1 to 5) to (partial, punched) of this track.
        after: whether the track was punched in the row before to (partial, punched).
    """

    track: int
    punched: int
    partial: int
    diameter_mm: Reading
    along_mm: Reading
    across_mm: Reading
    by_load: dict[int, tuple[int, int]]
    after: dict[bool, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Finding:
    """What the measures point to, in words.

    Attributes:
        station: the station of the chain it points to, for example "punch pin and die".
        text: one or two sentences.
        rank: larger is worse; findings are shown in falling rank.
    """

    station: str
    text: str
    rank: float


@dataclass(frozen=True, slots=True)
class StripReading:
    """One strip of tape.

    Attributes:
        turned: the beginning lies to the right in the picture.
        mirrored: the tape lies face down.
        direction: which way it is read and how sure that is.
        side_sure: whether it is sure on which side the three tracks lie.
        text: decoded.
        codes: row by row.
        rows: what stands in them.
        feed: the feed row.
        guide: the tape's edges against the feed row.
        tracks: tracks 1 to 5.
        other_codes: the codes read the other way, when the direction is not sure.
        other_text: their text.
        comparison: against the expected text, None without one.
        findings: what the measures point to.
        notes: what the reader should know about this strip.
    """

    turned: bool
    mirrored: bool
    direction: Direction
    side_sure: bool
    text: str
    codes: tuple[str, ...]
    rows: tuple[Row, ...]
    feed: Feed
    guide: Guide
    tracks: tuple[Track, ...]
    other_codes: tuple[str, ...] | None
    other_text: str | None
    comparison: Comparison | None
    findings: tuple[Finding, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TapeReading:
    """A whole picture.

    Attributes:
        width_px: picture width.
        height_px: picture height.
        scale: pixels for a millimetre.
        light_holes: whether the holes are lighter than the paper.
        strips: the strips, from the top left.
        verdicts: against limits.
        suspicions: what is odd about the picture itself, in words.
        not_judged: limits that no tape in this picture could be shown to meet, and what would help.
    """

    width_px: int
    height_px: int
    scale: Scale
    light_holes: bool
    strips: tuple[StripReading, ...]
    verdicts: tuple[Verdict, ...]
    suspicions: tuple[str, ...] = ()
    not_judged: tuple[str, ...] = ()
