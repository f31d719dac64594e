"""What `drive plan` (tapewright/drive/1) and `drive read` (tapewright/coil/1) say."""

from typing import Annotated, ClassVar, Literal

import msgspec

from tapewright.furniture.document import Document, figure, told
from tapewright.number import Reading, Verdict


def _not_told() -> Reading:
    """Return what stands for a figure that an older document does not have."""
    return Reading(None, None, "", how="an older version did not say")


# --- drive read ---


class CurrentSource(Document, frozen=True, kw_only=True):
    """The file and the channel that were read."""

    file: str
    sha256: str
    channel: str
    samples: Annotated[int, figure("samples")]
    rate_hz: Annotated[float, figure("samples a second", "Hz")]
    inverted: Annotated[bool, told("It was recorded upside down.")]
    offset_a: Annotated[float, figure("rest", "A", "What the recording showed without current.")]
    noise_a: Annotated[float, figure("noise", "A", "Standard deviation of one sample.")]


class Closure(Document, frozen=True, kw_only=True):
    """One closing of the switch, with its opening."""

    row_label: ClassVar[str] = "closing at {on_s:.4f} s"

    on_s: Annotated[float, told("When the switch closed, from the begin of the recording.")]
    moved: Annotated[bool | None, figure("moved", says="Null when it cannot be told.")]
    why: str
    level_a: Annotated[Reading, told("Current at the end.")]
    landing_ms: Annotated[Reading, figure("lands after", "ms", "From the closing of the switch.")]
    travel_ms: Annotated[Reading, told("From the first motion to the landing.")]
    bounce_ms: Annotated[Reading, figure("bounces for", "ms", "The hop after the landing.")]
    release_ms: Annotated[Reading, told("From the opening of the switch to the armature's arrival at its stop.")]
    slow: Annotated[bool, told("It landed much later than the others.")]
    further_dips_ms: Annotated[tuple[float, ...], told("Further jumps of the slope: double landing, second bounce.")]


class Suspected(Document, frozen=True, kw_only=True):
    """What makes the recording itself suspect."""

    suspicion: str
    evidence: str
    do: str


class Change(Document, frozen=True, kw_only=True):
    """One figure of two recordings."""

    row_label: ClassVar[str] = "{name}"

    name: str
    before: Reading
    after: Reading
    change: Annotated[Reading, figure("change", says="After minus before.", signed=True)]
    shown: Annotated[bool, figure("shown", says="The change is larger than its doubt U = 2u.")]


class Comparison(Document, frozen=True, kw_only=True):
    """A second recording of the same coil against this one."""

    with_: Annotated[str, told("The other file.")] = msgspec.field(name="with")
    changes: tuple[Change, ...]


class Coil(Document, frozen=True, kw_only=True):
    """What a recorded coil current says.

    resistance_ohm is the coil's alone (shunt and series taken off). landing_ms counts from the closing of the switch,
    release_ms from its opening. moved is null when it cannot be told; notes say why.
    """

    format: Literal["tapewright/coil/1"] = "tapewright/coil/1"
    cautions: tuple[str, ...]
    source: CurrentSource
    resistance_ohm: Annotated[Reading, figure("resistance", "ohm", marks=("compared",))]
    inductance_h: Annotated[Reading, figure("inductance", "H", "Armature out, or not moving.", marks=("compared",))]
    inductance_landed_h: Annotated[Reading, figure("with it on the pole", "H")]
    tau_ms: Annotated[Reading, figure("time constant of the loop", "ms")]
    moved: Annotated[bool | None, told("Null when it cannot be told, or the closings differ.")]
    landing_ms: Annotated[Reading, figure("lands after", "ms", "Mean over the closings.", marks=("compared",))]
    scatter_ms: Annotated[Reading, figure("single landings scatter by", "ms", marks=("compared",))]
    release_ms: Annotated[Reading, figure("back after", "ms", marks=("compared",))]
    closures: tuple[Closure, ...]
    instrument: tuple[Suspected, ...]
    comparison: Comparison | None
    notes: tuple[str, ...]


# --- drive plan ---


class CoilGiven(Document, frozen=True, kw_only=True):
    """The coil as it was planned with."""

    r_ohm: float
    l_h: float
    pull_in_a: float
    drop_out_a: float
    at_c: float
    travel_ms: float
    return_ms: float


class SupplyGiven(Document, frozen=True, kw_only=True):
    """The supply."""

    volts: float
    limit_a: Annotated[float | None, told("Null when it has none.")]
    recovery_ms: float
    c_out_f: float


class SeriesGiven(Document, frozen=True, kw_only=True):
    """The resistor in series."""

    r_ohm: float


class SwitchGiven(Document, frozen=True, kw_only=True):
    """The switch."""

    side: Literal["high", "low"]
    breakdown_v: float


class SuppressorChosen(Document, frozen=True, kw_only=True):
    """The suppressor of a choice."""

    kind: Literal["none", "diode", "diode+r", "zener", "rc"]
    r_ohm: float
    volts: Annotated[float, told("The whole clamp of a zener; its blocking diode is in it.")]
    c_f: float
    across: Literal["coil", "contact"]
    words: str


class SuppressorGiven(Document, frozen=True, kw_only=True):
    """The suppressor."""

    kind: Literal["none", "diode", "diode+r", "zener", "rc"]
    r_ohm: float
    volts: Annotated[float, told("The whole clamp of a zener; its blocking diode is in it.")]
    c_f: float
    drop_v: float
    across: Literal["coil", "contact"]
    words: str


class Spread(Document, frozen=True):
    """Mean, lowest and highest of some times; null when there are none."""

    mean: float | None
    low: float | None
    high: float | None
    n: int

    @classmethod
    def of(cls, values_s: list[float]) -> "Spread":
        """Summarise some times in seconds, as milliseconds."""
        if not values_s:
            return cls(None, None, None, 0)
        return cls(1e3 * sum(values_s) / len(values_s), 1e3 * min(values_s), 1e3 * max(values_s), len(values_s))


class ElementShift(Document, frozen=True, kw_only=True):
    """What happens to one element over the text, against the start of its character; marks and spaces of it alone."""

    element: int
    begins_late_ms: Spread
    ends_late_ms: Spread
    mark_longer_ms: Spread
    mark_longer_percent: float | None
    space_longer_ms: Spread


class Stream(Document, frozen=True, kw_only=True):
    """A text as the magnet receives it."""

    text: str
    unit_ms: float
    transitions: int
    missed_marks: Annotated[int, figure("marks the armature misses")]
    missed_spaces: Annotated[int, figure("spaces it misses")]
    operate_ms: Spread
    release_ms: Spread
    bias_ms: float | None
    bias_percent: float | None
    worst_ms: Annotated[float | None, told("Largest displacement of an instant against the start of its character.")]
    worst_percent: float | None
    isolated_marks_longer_ms: Spread
    isolated_spaces_longer_ms: Spread
    per_element: tuple[ElementShift, ...]


class Power(Document, frozen=True):
    """Power held in mark for ever (the line's rest), highest at any moment, and mean over the text."""

    held_w: Annotated[float, figure("held in mark", "W")]
    peak_w: Annotated[float, figure("peak", "W")]
    mean_w: Annotated[float, figure("mean over the text", "W")]


class Powers(Document, frozen=True, kw_only=True):
    """Where the power goes."""

    supply: Power
    coil: Power
    resistor: Power
    suppressor_mean_w: Annotated[float, told("What suppressor and contact turn into heat, mean over the text.")]
    break_j: Annotated[float, told("What the contact or the suppressor across it takes at one break.")]


class Lead(Document, frozen=True, kw_only=True):
    """Lowest and highest voltage of the coil's switched lead against the supply's negative."""

    low: float
    high: float


class Duty(Document, frozen=True):
    """How long the coil may have current."""

    mark_fraction: Annotated[float, told("Share of the text during which the switch is closed.")]
    held_w: float
    allowed_fraction: Annotated[float | None, told("Share of time it may be on; null when nothing says.")]
    hot_c: Annotated[float | None, told("Where it settles when held for ever; null when not known.")]
    why: str


class Alternative(Document, frozen=True, kw_only=True):
    """The coil from one voltage at the same current."""

    volts: float
    series_ohm: float
    tau_ms: float
    operate_ms: float | None
    release_ms: float | None
    added_bias_percent: float | None
    coil_w: float
    resistor_w: float


class OtherVoltages(Document, frozen=True, kw_only=True):
    """Low against high voltage."""

    why: str
    at: tuple[Alternative, ...]


class WishAsked(Document, frozen=True, kw_only=True):
    """What a search asked for."""

    added_bias_percent: float
    contact_v: float
    least_current_ratio: float
    most_resistor_w: float | None


class ChoiceFound(Document, frozen=True, kw_only=True):
    """One drive that meets the wish, from the exact solution."""

    series_ohm: float
    suppressor: SuppressorChosen
    steady_a: float
    worst_percent: float
    added_bias_percent: float
    peak_v: float
    resistor_w: float


class Search(Document, frozen=True, kw_only=True):
    """A search over resistor and suppressor."""

    wish: WishAsked
    tried: int
    meeting: int
    choices: tuple[ChoiceFound, ...]


class DriveFigures(Document, frozen=True, kw_only=True):
    """The figures that one make and one break decide, each with its doubt."""

    steady_a: Annotated[Reading, figure("steady current", "A")]
    asked_a: Annotated[Reading, figure("current without the supply's limit", "A")]
    tau_ms: Annotated[Reading, figure("time constant", "ms", "Of the closed loop.")]
    operate_ms: Annotated[Reading, figure("operates after", "ms", "From a long space.")]
    release_ms: Annotated[Reading, figure("releases after", "ms", "From a long mark.")]
    added_bias_percent: Annotated[Reading, figure("adds bias", "percent", "Marking when positive.", signed=True)]
    peak_v: Annotated[Reading, figure("contact sees on opening", "V")]
    resistor_w: Annotated[Reading, figure("resistor turns into heat", "W", "Held in mark.")]
    fit_w: Annotated[Reading, figure("fit a resistor of at least", "W")]
    energy_j: Annotated[Reading, figure("stored energy", "J")]


class DrivePlan(Document, frozen=True, kw_only=True):
    """What a magnet drive will do.

    Operate is from a long space, release from a long mark; both without armature travel unless it was given.
    added_bias_percent is (release - operate) / unit, marking when positive.
    """

    format: Literal["tapewright/drive/1"] = "tapewright/drive/1"
    cautions: tuple[str, ...]
    coil: CoilGiven
    supply: SupplyGiven
    series: SeriesGiven
    switch: SwitchGiven
    suppressor: SuppressorGiven
    circuit: Annotated[tuple[str, ...], told("How it is wired, as lines of text; plus at the top.")] = ()
    steady_a: float | None
    asked_a: float | None
    tau_ms: float | None
    operate_ms: float | None
    release_ms: float | None
    added_bias_percent: float | None
    peak_v: float | None
    resistor_w: float | None
    fit_w: float | None
    energy_j: float | None
    readings: DriveFigures
    doubts: Annotated[dict[str, float], told("Standard uncertainty taken for each input, stated or assumed.")]
    fit_sold_w: float | None
    stream: Stream
    power: Powers
    contact_peak_a: float
    lead_v: Lead
    duty: Duty
    comparison: OtherVoltages
    verdicts: tuple[Verdict, ...]
    notes: tuple[str, ...]
    search: Search | None = None
