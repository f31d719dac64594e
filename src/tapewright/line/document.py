"""Everything one line capture says, stage by stage, ready to be reported."""

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from msgspec import field

from tapewright.alphabets import Alphabet
from tapewright.furniture.document import Document, figure, told
from tapewright.line.decomposition import Decomposition
from tapewright.line.frames import Frames
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.line.speed import CharacterSpeeds
from tapewright.line.transitions import Transitions
from tapewright.message import Comparison
from tapewright.message.document import Errors
from tapewright.number import Limit, Reading, Verdict, missing
from tapewright.recordings.capture import RawEdges, Suspicion


def _not_told() -> Reading:
    """Return what stands for a figure that an older document does not have."""
    return missing("", "an older version did not say")


@dataclass(frozen=True, slots=True)
class LineSettings:
    """What the user says about the signal; everything else is found from it.

    Attributes:
        alphabet: to read the codes with.
        nominal_baud: what the machine should run at; None to take the nearest usual speed.
        idle: "auto", "high" or "low": the level of the line at rest.
        clock_ppm: the recorder's clock may be out by as much as this; carried into every time.
        expect: codes that were sent, if known.
        limits: the user's own limits; each replaces the built-in one of the same check.
        window: the receiver's window as a share of the unit.
        elements: elements in a character.
        unshift_on_space: whether the machine goes back to letters on a space.
    """

    alphabet: Alphabet
    nominal_baud: float | None = None
    idle: str = "auto"
    clock_ppm: float = 0.0
    expect: tuple[str, ...] | None = None
    limits: tuple[Limit, ...] = ()
    window: float = 0.2
    elements: int = 5
    unshift_on_space: bool = False


class Source(Document, frozen=True, kw_only=True):
    """The file and the channel that were read."""

    file: str
    sha256: Annotated[str | None, told("Fingerprint of its bytes; null when nobody asked for it.")]
    kind: Annotated[str, told("Format of the file, in words.")]
    channel: str
    channels: tuple[str, ...]
    other_channels_with_characters: tuple[str, ...] = ()
    duration_s: Annotated[float, figure("length", "s")]
    samples: Annotated[int, figure("samples")]
    rate_hz: Annotated[float | None, figure("samples a second", "Hz")]
    clock_ppm: Annotated[
        float,
        figure(
            "doubt of the clock",
            "ppm",
            "How far the recorder's clock may be out, as the "
            "user said; a rectangle of this half-width is in the doubt of every time.",
        ),
    ] = 0.0
    threshold_v: Annotated[tuple[float, float] | None, told("Levels crossed, in the file's own units.")] = None
    idle: Literal["high", "low"] | None
    edges: Annotated[int, figure("edges")] = 0


class LineSpeed(Document, frozen=True, kw_only=True):
    """The speed, proven or not."""

    unit_ms: Annotated[Reading, figure("unit", "ms")]
    baud: Annotated[Reading, figure("modulation rate", "Bd")]
    nominal_baud: Annotated[float | None, figure("nominal rate", "Bd", "Null when no usual speed is near.")]
    nominal_given: Annotated[bool, told("False: the nearest usual speed.")] = True
    error_percent: Annotated[Reading, figure("speed error", "percent", "Above (+) or below (-) nominal.")]
    character_ms: Annotated[Reading, figure("character", "ms", "Period of a full-speed stream.")]
    stop_units: Annotated[Reading, figure("stop", "unit", "Length of the stop in a full-speed stream.")]
    characters_per_minute: Annotated[Reading, figure("characters a minute", "per minute", "Of a full-speed stream.")]
    words_per_minute: Annotated[Reading, figure("words a minute", "per minute", "Of six characters.")]
    ripple_percent: Annotated[
        Reading,
        figure(
            "ripple",
            "percent",
            "Half of peak to peak of the strongest swing; null when none stands clear of the noise.",
        ),
    ]
    ripple_hz: Annotated[Reading, figure("frequency of the ripple", "Hz")] = field(default_factory=_not_told)
    drift_percent: Annotated[Reading, figure("drift", "percent", "From begin to end; positive: faster at the end.")]
    proven: Annotated[bool, told("Without it every timing verdict is refused.")] = True
    nominal_proven: Annotated[bool, told("Whether it may be judged against the nominal speed too.")] = True
    why: Annotated[str, told("Why it is not proven; empty when it is.")] = ""


class Character(Document, frozen=True, kw_only=True):
    """One character as it came."""

    start_s: Annotated[float, figure("start", "s")]
    code: Annotated[str, told("Element 1 first; 1 = mark.")]
    letter_or_figure: Annotated[str, told("The character, or the short name of the function.")]
    unit_ms: Annotated[Reading, figure("its own unit", "ms")]
    stop_units: Annotated[float | None, figure("rest until the next start", "unit")]
    notes: Annotated[tuple[str, ...], told("What is doubtful about it.")]


class Histogram(Document, frozen=True, kw_only=True):
    """Instants by their individual distortion, in steps of one per cent of the measured unit."""

    from_percent: int
    step_percent: Literal[1] = 1
    counts: tuple[int, ...]


class Distortion(Document, frozen=True, kw_only=True):
    """Degrees and parts of the distortion, in per cent of a unit; late positive, early negative."""

    gross_percent: Annotated[
        Reading,
        figure("gross", "percent", "Largest of n, with the nominal unit; u: how the largest of n would spread."),
    ]
    gross_once_in_1e4_percent: Annotated[
        Reading, figure("exceeded once in 10,000", "percent", "Gross; from the groups' normal scatter.")
    ] = field(default_factory=_not_told)
    gross_once_in_1e5_percent: Annotated[Reading, figure("exceeded once in 100,000", "percent")] = field(
        default_factory=_not_told
    )
    synchronous_percent: Annotated[Reading, figure("synchronous", "percent", "Largest, with the measured unit.")]
    early_percent: Annotated[Reading, figure("earliest", "percent", "Not positive; measured unit.")]
    late_percent: Annotated[Reading, figure("latest", "percent", "Not negative; measured unit.")]
    n: Annotated[int, figure("instants")]
    odd: Annotated[int, figure("instants far from the rest of their kind")] = 0
    marking_bias_percent: Annotated[Reading, figure("marking bias", "percent", "Negative: spacing bias.")]
    end_percent: Annotated[Reading, figure("end", "percent", "Positive: marking end distortion.")]
    start_reference_percent: Annotated[Reading, figure("start reference", "percent")]
    scatter_percent: Annotated[Reading, figure("scatter", "percent", "Standard deviation of one instant.")]
    histogram: Histogram | None = None


class Bounce(Document, frozen=True, kw_only=True):
    """How long a contact bounces when it closes."""

    median: Annotated[float, figure("usual bounce", "ms")]
    max: Annotated[float, figure("longest bounce", "ms")]


class Splits(Document, frozen=True, kw_only=True):
    """Gaps between a contact's mark and the mark before it."""

    n: Annotated[int, figure("split marks")]
    median_ms: Annotated[float | None, figure("median split", "ms")]


class Contact(Document, frozen=True, kw_only=True):
    """One contact's own lateness, when everything common to all contacts is taken out."""

    row_label: ClassVar[str] = "contact {contact}"

    contact: Annotated[str, told("1 to 5 (8), or stop.")]
    closing_late_ms: Annotated[
        Reading,
        figure("closes late", "ms", "Its own lateness, with speed, bias and end distortion taken out.", signed=True),
    ]
    opening_late_ms: Annotated[Reading, figure("opens late", "ms", signed=True)]
    mark_percent: Annotated[
        Reading, figure("mark", "percent", "From closing to opening, of the measured unit: no clock is in it.")
    ] = field(default_factory=_not_told)
    closes_after_neighbour_ms: Annotated[
        Reading,
        figure(
            "than the one before",
            "ms",
            "Closes so much later than the contact before it, each against its place: what one bends to.",
            signed=True,
        ),
    ] = field(default_factory=_not_told)
    closing_seen: Annotated[tuple[int, int], told("Instants that show it, of how many.")] = (0, 0)
    opening_seen: tuple[int, int] = (0, 0)
    bounce_ms: Annotated[Bounce | None, told("Null where it never closes.")]
    dropouts: Annotated[int, figure("dropouts", says="Gaps inside its marks.")]
    splits: Splits = field(default_factory=lambda: Splits(n=0, median_ms=None))
    probability_off: Annotated[float, told("That it is off rather than good; the larger of both.")] = 0.0
    notes: tuple[str, ...] = ()


class Covariance(Document, frozen=True, kw_only=True):
    """How the errors of the figures beside it go together; the doubt of the recorder's clock is not in it."""

    names: Annotated[tuple[str, ...], told("Unit, what all closings and all openings have in common, each contact.")]
    unit: Literal["ms2"] = "ms2"
    matrix: tuple[tuple[float, ...], ...]


class Range(Document, frozen=True, kw_only=True):
    """Orientations that read every character right, in per cent of a unit after the middle of the element."""

    orientation_low: Annotated[float, figure("earliest", "percent")]
    orientation_high: Annotated[float, figure("latest", "percent", "Below the earliest when none reads everything.")]
    margin_percent: Annotated[float, figure("margin", "percent", "Half the range, not below 0.")]
    orientation_low_u: Annotated[float | None, told("Standard uncertainty, as of the largest of n instants.")] = None
    orientation_high_u: float | None = None
    margin_u: float | None = None


class ElementRange(Range, frozen=True, kw_only=True):
    """The range of one element."""

    element: int


class AddedRange(Range, frozen=True, kw_only=True):
    """The range left when more distortion is put on top."""

    kind: str
    percent: float


class Receiver(Range, frozen=True, kw_only=True):
    """What a receiver of a given window makes of the signal."""

    window: Annotated[float, told("Width of its look, as a share of the unit.")]
    unit: str = "percent of a unit after the middle of the element"
    per_element: tuple[ElementRange, ...]
    with_added: tuple[AddedRange, ...] = ()


class Finding(Document, frozen=True):
    """One thing to do, in the order of work."""

    part: Annotated[str, told("What a screwdriver can be put to, for example contact 3.")]
    what: Annotated[str, told("What was found, with its figure and doubt.")]
    do: str


class Line(Document, frozen=True, kw_only=True):
    """What one recorded line signal says: `tapewright line read FILE --json`."""

    format: Literal["tapewright/line/1"] = "tapewright/line/1"
    source: Source
    speed: LineSpeed
    text: str
    codes: tuple[str, ...]
    characters: tuple[Character, ...]
    distortion: Distortion
    contacts: tuple[Contact, ...]
    covariance: Annotated[
        Covariance | None, told("Of speed, distortion and contacts, for the doubt of any difference between them.")
    ] = None
    receiver: Receiver | None
    errors: Annotated[Errors | None, told("Null without --expect.")]
    cautions: Annotated[
        tuple[str, ...], told("What to mind before a wire is touched; empty when nothing is wrong with the recorder.")
    ] = ()
    instrument: tuple[Suspicion, ...]
    findings: Annotated[tuple[Finding, ...], told("What to do, first things first.")] = ()
    verdicts: tuple[Verdict, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class LineTrace:
    """The stages behind a result, for plots and for the curious."""

    edges: RawEdges
    mark_is_high: bool
    transitions: Transitions
    frames: Frames
    instants: Instants
    groups: Groups
    speeds: CharacterSpeeds
    split: Decomposition


@dataclass(frozen=True, slots=True, eq=False)
class LineResult:
    """What one capture says. Without characters only `suspicions`, `notes` and `verdicts` hold anything.

    Attributes:
        idle: "high" or "low"; None when it cannot be told.
        notes: what could not be had, and why.
        other: what the signal is, when it is no start-stop signal of five elements.
    """

    settings: LineSettings
    idle: Literal["high", "low"] | None
    speed: LineSpeed
    text: str
    codes: tuple[str, ...]
    characters: tuple[Character, ...]
    distortion: Distortion
    contacts: tuple[Contact, ...]
    covariance: Covariance | None
    receiver: Receiver | None
    errors: Comparison | None
    suspicions: tuple[Suspicion, ...]
    verdicts: tuple[Verdict, ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    trace: LineTrace | None
    other: str = ""
