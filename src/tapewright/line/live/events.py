"""What a watched line has to say, in the order it happens."""

from dataclasses import dataclass

from tapewright.line.document import LineResult
from tapewright.line.live.needles import Needle
from tapewright.line.live.stretches import Change
from tapewright.number import Reading
from tapewright.recordings.capture import Suspicion


@dataclass(frozen=True, slots=True)
class Learning:
    """The levels or the speed are not known yet.

    Attributes:
        at_s: signal time.
        what: "levels" or "speed".
        edges: seen so far.
    """

    at_s: float
    what: str
    edges: int


@dataclass(frozen=True, slots=True)
class Learned:
    """Levels, polarity and unit are known from here on.

    Attributes:
        at_s: signal time.
        idle: "high" or "low".
        unit_ms: first value of the unit.
        suspicions: what is odd about the instrument.
        again: True when it was learned wrongly before; the characters come again from the first.
    """

    at_s: float
    idle: str
    unit_ms: float
    suspicions: tuple[Suspicion, ...]
    again: bool = False


@dataclass(frozen=True, slots=True)
class Struck:
    """One character.

    Attributes:
        number: from 1.
        start_s: its start transition, since the watch began.
        stop_begins_s: where its stop should begin: boundary 6.
        settled_s: signal time at which it was settled.
        code: element 1 first.
        shown: the character, or the short name of the function.
        text: how it stands in the text; empty for a shift.
        unit_ms: its own unit.
        stop_before_units: rest since the stop before it began.
        stopped: whether its own stop was there.
        needles: how late each contact that moved was.
        kept_back: True when it was keyed while levels or speed were being learned.
    """

    number: int
    start_s: float
    stop_begins_s: float
    settled_s: float
    code: str
    shown: str
    text: str
    unit_ms: Reading
    stop_before_units: float | None
    stopped: bool
    needles: tuple[Needle, ...]
    kept_back: bool


@dataclass(frozen=True, slots=True)
class Typed:
    """One character of a source that tells no timing.

    Attributes:
        number: from 1.
        code: element 1 first; empty when it came broken.
        shown: the character, or the short name of the function; empty when it came broken.
        text: how it stands in the text.
    """

    number: int
    code: str
    shown: str
    text: str


@dataclass(frozen=True, slots=True, eq=False)
class Figures:
    """What the last characters say together."""

    at_s: float
    characters: int
    result: LineResult


@dataclass(frozen=True, slots=True)
class Broke:
    """The line stood on space for longer than a character."""

    at_s: float


@dataclass(frozen=True, slots=True)
class Lost:
    """Samples are missing.

    Attributes:
        at_s: signal time.
        seconds: how much; None when that cannot be known.
        why: in words.
    """

    at_s: float
    seconds: float | None
    why: str


@dataclass(frozen=True, slots=True)
class Marked:
    """A trial was marked: what was keyed before it is one stretch, what comes next another.

    Attributes:
        at_s: signal time.
        number: from 1.
        label: what was done.
        characters: how many the stretch before it had.
    """

    at_s: float
    number: int
    label: str
    characters: int


@dataclass(frozen=True, slots=True)
class Compared:
    """What a trial did.

    Attributes:
        at_s: signal time.
        number: of the trial.
        label: what was done.
        before: characters of the stretch before.
        after: characters of the stretch after.
        changes: those that are shown first.
    """

    at_s: float
    number: int
    label: str
    before: int
    after: int
    changes: tuple[Change, ...]


Event = Learning | Learned | Struck | Typed | Figures | Broke | Lost | Marked | Compared
