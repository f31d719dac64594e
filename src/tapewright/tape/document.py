"""What was read from pictures of punched tape: rows, holes, feed, tracks, text, verdicts."""

from enum import Enum
from typing import Annotated, ClassVar, Literal

from msgspec import field

from tapewright.furniture.document import Document, figure, told
from tapewright.message.document import Errors
from tapewright.number import Reading, Verdict


class HoleState(Enum):
    """What is seen at a position."""

    CLEAN = "clean"
    PARTIAL = "partial"
    DOUBTFUL = "doubtful"
    ABSENT = "absent"


#: States of a hole that counts as punched.
PUNCHED = (HoleState.CLEAN, HoleState.PARTIAL)


class Source(Document, frozen=True, kw_only=True):
    """The picture that was read."""

    file: str
    sha256: Annotated[str, told("Fingerprint of its bytes.")]
    width_px: Annotated[int, figure("width", "px")]
    height_px: Annotated[int, figure("height", "px")]


class PictureScale(Document, frozen=True, kw_only=True):
    """Pixels for a millimetre, and how that is known."""

    px_per_mm: Annotated[Reading, figure("scale", "px/mm")]
    from_: Literal["dpi tag", "tape width", "given", "track grid"] = field(name="from")
    notes: Annotated[tuple[str, ...], told("What was not believed, and what could not be judged.")] = ()


class Hole(Document, frozen=True, kw_only=True):
    """One position of one row."""

    row_label: ClassVar[str] = "track {track}"

    track: Annotated[int, told("1 to 5, the element it carries.")]
    state: Annotated[HoleState, told("Doubtful: open between 3 and 14 %, or hidden; the row then has a note.")]
    open_fraction: Annotated[float, told("Open area over that of a clean hole of its track, as measured.")]
    diameter_mm: Annotated[float | None, told("Of a clean hole, mm.")]
    along_mm: Annotated[float | None, told("From the grid, + towards later rows; null unless clean.")]
    across_mm: Annotated[float | None, told("From the grid, + towards track 5.")]
    x_px: Annotated[float, told("Centre in the picture; where the hole should be, when it is not clean.")]
    y_px: float


class Row(Document, frozen=True, kw_only=True):
    """One row in reading order."""

    row: Annotated[int, told("Number from 0, as `codes` counts.")]
    code: Annotated[str, told("Element 1 first; 1 = hole. A partial hole counts as punched.")]
    x_px: Annotated[float, told("Centre of the feed hole.")]
    y_px: float
    holes: tuple[Hole, ...]
    notes: Annotated[tuple[str, ...], told("What is odd about the row.")] = ()


class Feed(Document, frozen=True, kw_only=True):
    """The feed row."""

    pitch_mm: Annotated[Reading, figure("pitch", "mm", "By regression over the run.")]
    scatter_mm: Annotated[Reading, figure("scatter of single steps", "mm", "Standard deviation.")]
    worst_cumulative_mm: Annotated[Reading, figure("worst place", "mm", "Largest distance from the even grid.")]
    worst_row: Annotated[int | None, told("The row there.")]
    over_50_mm: Annotated[
        Reading, figure("worst 50 steps", "mm", "Against 50 nominal ones, + too long; the scale's doubt counts.")
    ]
    over_50_row: Annotated[int | None, told("The row it begins at.")]
    period_rows: Annotated[int | None, told("Rows after which the error comes back; null when it does not.")]
    period_kind: Annotated[Literal["one step", "wave"] | None, told("A tooth, or an eccentric wheel.")]
    period_mm: Annotated[Reading, figure("error that comes back", "mm", "The odd step, or the wave's amplitude.")]
    short_rows: Annotated[tuple[int, ...], told("Rows that came too soon after the one before.")]
    long_rows: Annotated[tuple[int, ...], told("Rows that came too late.")]
    diameter_mm: Annotated[Reading, figure("feed holes", "mm", "Mean diameter.")]
    oval_mm: Annotated[Reading, figure("feed holes, oval", "mm", "Length along less width across.")]
    advanced_mm: Annotated[Reading, figure("feed hole ahead of its row", "mm", "+ towards the beginning.")]
    out_of_square_mm: Annotated[Reading, figure("track 5 behind track 1", "mm")]
    notes: Annotated[tuple[str, ...], told("Why a figure is null.")] = ()


class Guide(Document, frozen=True, kw_only=True):
    """How the tape ran in its guide."""

    width_mm: Annotated[Reading, figure("tape width", "mm")]
    feed_to_three_hole_edge_mm: Annotated[Reading, figure("feed line to the three-hole edge", "mm")]
    off_mm: Annotated[Reading, figure("all holes off", "mm", "From their place across, + towards track 5.")]
    notes: Annotated[tuple[str, ...], told("Why a figure is null.")] = ()


class Track(Document, frozen=True, kw_only=True):
    """One track over the whole strip."""

    row_label: ClassVar[str] = "track {track}"

    track: int
    punched: Annotated[int, figure("holes", says="Clean and partial.")]
    partial: Annotated[int, figure("partial")]
    diameter_mm: Annotated[Reading, figure("diameter", "mm", "Mean of the clean holes.")]
    along_mm: Annotated[Reading, figure("along", "mm", "From the grid, + towards later rows.", signed=True)]
    across_mm: Annotated[Reading, figure("across", "mm", "From the grid, + towards track 5.", signed=True)]
    partial_by_holes_in_row: Annotated[dict[str, tuple[int, int]], told("Holes in the row: partial holes, holes.")]
    partial_after_punched: Annotated[tuple[int, int], told("Partial holes, holes.")]
    partial_after_absent: Annotated[tuple[int, int], told("Partial holes, holes.")]


class Finding(Document, frozen=True, kw_only=True):
    """What the measures point to."""

    station: Annotated[str, told("The station of the chain.")]
    text: str


class OtherReading(Document, frozen=True, kw_only=True):
    """The reading from the other end."""

    text: str
    codes: tuple[str, ...]


class Strip(Document, frozen=True, kw_only=True):
    """One strip of tape."""

    turned: Annotated[bool, told("The beginning lies to the right.")]
    mirrored: Annotated[bool, told("The tape lies face down.")]
    direction_sure: bool
    direction_from: Annotated[str, told("What the direction rests on.")]
    text: str
    codes: Annotated[tuple[str, ...], told("A partial hole counts as punched.")]
    other_reading: Annotated[OtherReading | None, told("When the direction is not sure.")]
    rows: tuple[Row, ...]
    feed: Feed
    guide: Guide
    tracks: tuple[Track, ...]
    findings: Annotated[tuple[Finding, ...], told("The worst first.")]
    notes: tuple[str, ...]
    errors: Annotated[Errors | None, told("Null without --expect.")]


class Tape(Document, frozen=True, kw_only=True):
    """What one picture of punched tape says: `tapewright tape read PICTURE --json`."""

    format: Literal["tapewright/tape/1"] = "tapewright/tape/1"
    source: Source
    scale: PictureScale
    holes: Literal["lighter than the paper", "darker than the paper"]
    suspicions: Annotated[tuple[str, ...], told("What is odd about the picture itself.")]
    strips: tuple[Strip, ...]
    verdicts: tuple[Verdict, ...]

    @property
    def px_per_mm(self) -> float:
        """Return the scale's estimate, px/mm."""
        return float(self.scale.px_per_mm.value or 0.0)


class Piece(Document, frozen=True, kw_only=True):
    """One strip of one picture in the joined tape."""

    picture: Annotated[int, told("Number in `pictures`, from 0.")]
    strip: Annotated[int, told("Number in that picture, from 0.")]
    first_row: Annotated[int, told("Row of the joined tape where it begins.")]
    reversed: Annotated[bool, told("Read from its other end, as the piece beside it shows.")]
    shared_rows: Annotated[int | None, told("With the piece before; null after a gap and at the beginning.")]
    differing_rows: Annotated[tuple[int, ...], told("Rows of the joined tape that both show, and show otherwise.")]


class Unread(Document, frozen=True, kw_only=True):
    """A picture that could not be read."""

    file: str
    why: str


class JoinedTape(Document, frozen=True, kw_only=True):
    """What several pictures of one tape say together: `tapewright tape read A B C --json`."""

    format: Literal["tapewright/joined-tape/1"] = "tapewright/joined-tape/1"
    text: str
    codes: tuple[str, ...]
    pieces: Annotated[tuple[Piece, ...], told("In the order of the tape.")]
    gaps: Annotated[tuple[int, ...], told("Rows of the joined tape before which something may be missing.")]
    notes: tuple[str, ...]
    unread: tuple[Unread, ...]
    pictures: tuple[Tape, ...]
