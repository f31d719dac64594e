"""Everything one line capture says, stage by stage, ready to be reported."""

from dataclasses import dataclass

from tapewright.alphabets import Alphabet
from tapewright.line.decomposition import Decomposition
from tapewright.line.frames import Frames
from tapewright.line.groups import Groups
from tapewright.line.instants import Instants
from tapewright.line.receiver import Receiver
from tapewright.line.speed import CharacterSpeeds
from tapewright.line.transitions import Transitions
from tapewright.message import Comparison
from tapewright.number import Limit, Reading, Verdict
from tapewright.recordings.capture import RawEdges, Suspicion


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


@dataclass(frozen=True, slots=True)
class LineSpeed:
    """The speed, proven or not.

    Attributes:
        unit_ms: length of the unit.
        baud: modulation rate.
        nominal_baud: what it should be; None when no usual speed is near.
        nominal_given: whether the user said so.
        error_percent: speed above (+) or below (-) nominal.
        character_ms: period of a full-speed stream.
        stop_units: length of the stop in a full-speed stream.
        characters_per_minute: of a full-speed stream.
        words_per_minute: of six characters.
        ripple_percent: amplitude of the strongest periodic change.
        ripple_hz: its frequency.
        drift_percent: change from begin to end.
        proven: whether timing may be judged with it.
        nominal_proven: whether it may be judged against the nominal speed too.
        why: why it is not proven; empty when it is.
    """

    unit_ms: Reading
    baud: Reading
    nominal_baud: float | None
    nominal_given: bool
    error_percent: Reading
    character_ms: Reading
    stop_units: Reading
    characters_per_minute: Reading
    words_per_minute: Reading
    ripple_percent: Reading
    ripple_hz: Reading
    drift_percent: Reading
    proven: bool
    nominal_proven: bool
    why: str


@dataclass(frozen=True, slots=True)
class Character:
    """One character as it came.

    Attributes:
        start_s: its start transition.
        code: element 1 first.
        shown: the character, or the short name of the function.
        text: how it stands in the text; empty for a shift.
        unit_ms: its own unit.
        stop_units: rest until the next start; None for the last.
        notes: what is doubtful about it.
    """

    start_s: float
    code: str
    shown: str
    text: str
    unit_ms: Reading
    stop_units: float | None
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Distortion:
    """Degrees and parts of the distortion, in per cent of a unit; late positive, early negative."""

    gross_percent: Reading
    synchronous_percent: Reading
    early_percent: Reading
    late_percent: Reading
    n: int
    odd: int
    marking_bias_percent: Reading
    end_percent: Reading
    start_reference_percent: Reading
    scatter_percent: Reading


@dataclass(frozen=True, slots=True)
class Contact:
    """One contact's own lateness, when everything common to all contacts is taken out.

    Attributes:
        contact: "1" to "5", or "stop".
        closing_late_ms: late positive; without value where it is never seen.
        opening_late_ms: the same for opening.
        closing_seen: (instants that show the lateness, all instants) of the closing.
        opening_seen: the same of the opening.
        bounce_median_ms: None where it never closes.
        bounce_max_ms: the longest.
        dropouts: gaps inside its marks.
        splits: gaps between its mark and the mark before it.
        split_median_ms: their median length.
        off: probability that it is off rather than good, the larger of closing and opening.
    """

    contact: str
    closing_late_ms: Reading
    opening_late_ms: Reading
    closing_seen: tuple[int, int]
    opening_seen: tuple[int, int]
    bounce_median_ms: float | None
    bounce_max_ms: float | None
    dropouts: int
    splits: int
    split_median_ms: float | None
    off: float


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to do, in the order of work.

    Attributes:
        part: what a screwdriver can be put to, for example "contact 3".
        what: what was found, with its figure and doubt.
        do: what to do about it.
    """

    part: str
    what: str
    do: str


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
    """

    settings: LineSettings
    idle: str | None
    speed: LineSpeed
    text: str
    codes: tuple[str, ...]
    characters: tuple[Character, ...]
    distortion: Distortion
    contacts: tuple[Contact, ...]
    receiver: Receiver | None
    errors: Comparison | None
    suspicions: tuple[Suspicion, ...]
    verdicts: tuple[Verdict, ...]
    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    trace: LineTrace | None
