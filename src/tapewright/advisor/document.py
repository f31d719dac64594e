"""What the advisor says: `tapewright diagnose --json`."""

from typing import Annotated, ClassVar, Literal

from msgspec import Meta, field

from tapewright.furniture.document import Document, figure, told

State = Literal["present", "absent", "rather present", "rather absent", "not examined"]
Standing = Literal["proved", "suspect", "outside", "not yet shown"]
Risk = Literal["none", "hand", "power", "loop"]
Depth = Literal["none", "covers", "assembly", "strip"]
Probability = Annotated[float, Meta(ge=0, le=1.0000001)]


class Kind(Document, frozen=True, kw_only=True):
    """The kind of machine that was reasoned about."""

    name: str
    title: str


class Danger(Document, frozen=True, kw_only=True):
    """What can hurt somebody, and comes before everything else."""

    danger: str
    says: str
    do: Annotated[tuple[str, ...], told("What to do at once, in order, and whom to call.")]
    forbids: Annotated[Risk, told("No test of this risk or a higher one is advised while it stands.")]
    because: tuple[str, ...]


class Station(Document, frozen=True, kw_only=True):
    """One station of the chain, with the belief that a fault sits there."""

    row_label: ClassVar[str] = "{title}"

    station: str
    title: str
    state: Standing
    probability: Probability
    because: tuple[str, ...]


class Remedy(Document, frozen=True, kw_only=True):
    """What mends a cause."""

    do: str
    minutes: Annotated[float, figure("takes", "min")]
    depth: Depth
    cautions: tuple[str, ...]
    source: Annotated[str, told('The document behind it, or "common practice, no source".')]


class Suspected(Document, frozen=True, kw_only=True):
    """One cause with its probability and its reasons, the most telling first."""

    row_label: ClassVar[str] = "{says}"

    cause: str
    at: Annotated[str | None, told('Where it sits, for example "contact 3"; null where the evidence names no place.')]
    station: str
    says: str
    probability: Probability
    supports: Annotated[tuple[str, ...], told("What speaks for it.")] = field(name="for")
    against: Annotated[tuple[str, ...], told("What speaks against it.")]
    missing: Annotated[tuple[str, ...], told("What was not looked at and would show it.")]
    remedy: Remedy


class Then(Document, frozen=True, kw_only=True):
    """The cause that would lead after an outcome."""

    cause: str
    says: str
    probability: Probability


class Outcome(Document, frozen=True, kw_only=True):
    """One outcome of a test, how likely it is, and what it would mean."""

    finding: Annotated[str | None, told("Null for none of the others.")]
    says: str
    chance: Probability
    then: Annotated[Then | None, told("Null for an outcome that cannot happen.")]


class NextTest(Document, frozen=True, kw_only=True):
    """A test worth doing next."""

    test: str
    do: str
    minutes: Annotated[float, figure("takes", "min")]
    risk: Risk
    depth: Depth
    information_bits: Annotated[float, figure("expected to tell", "bit")]
    why: str
    opens: Annotated[str | None, told("The gate that it puts on record.")]
    question: Annotated[bool, told("A plain question about one finding.")]
    tells_apart: tuple[str, ...]
    cautions: tuple[str, ...]
    outcomes: tuple[Outcome, ...]


class Stop(Document, frozen=True, kw_only=True):
    """Enough is known: a remedy that is worth doing now."""

    cause: str
    at: str | None = None
    says: str
    probability: Probability
    why: str
    do: str
    minutes: Annotated[float, figure("takes", "min")]
    cautions: tuple[str, ...]


class Unexplained(Document, frozen=True, kw_only=True):
    """A finding that no cause in the list explains."""

    finding: str
    says: str
    probability: Probability


class Known(Document, frozen=True, kw_only=True):
    """One answer about one finding."""

    finding: str
    says: str
    state: State
    at: Annotated[str | None, told("Element, track, contact, column or key.")]
    if_present: Annotated[Probability, told("How likely this evidence is when the finding is there.")]
    if_absent: Annotated[Probability, told("And when it is not.")]
    how: Annotated[str, told("Where it comes from.")]


class NotCounted(Document, frozen=True, kw_only=True):
    """Something that was found and that a later adjustment has overtaken."""

    finding: str
    says: str
    state: State
    how: str
    evidence: str
    overtaken_by: tuple[str, ...]


class RankedCode(Document, frozen=True, kw_only=True):
    """One transformation of the code, with its probability among all."""

    transformation: str
    element: Annotated[int | None, told("Null when it concerns all.")]
    probability: Probability
    explains: int
    wrong: int


class WouldCome(Document, frozen=True, kw_only=True):
    """What a transformation would make of the character to send next."""

    transformation: str
    would_come_as: str


class Pairs(Document, frozen=True, kw_only=True):
    """What characters sent and received say."""

    ranked: tuple[RankedCode, ...]
    send_next: Annotated[str | None, told("The code that best tells them apart; null when nothing is left to tell.")]
    then: tuple[WouldCome, ...]


class Diagnosis(Document, frozen=True, kw_only=True):
    """The part at fault and the next test: `tapewright diagnose --json`."""

    format: Literal["tapewright/diagnosis/1"] = "tapewright/diagnosis/1"
    danger: Annotated[tuple[Danger, ...], told("Stands first; empty when nothing that was said or found is one.")] = ()
    machine: Kind
    files: tuple[str, ...] = ()
    stations: Annotated[tuple[Station, ...], told("In the order of the chain.")]
    causes: Annotated[tuple[Suspected, ...], told("Every cause, the most probable first.")]
    next_tests: Annotated[tuple[NextTest, ...], told("Best first.")]
    stop: Annotated[Stop | None, told("Null while a test first is expected to save minutes.")]
    unexplained: tuple[Unexplained, ...]
    evidence: tuple[Known, ...]
    not_counted: tuple[NotCounted, ...] = ()
    on_record: tuple[str, ...]
    tried: tuple[str, ...]
    pairs: Pairs | None = None
    notes: tuple[str, ...]
