r"""A requirement: one line of a machine's sheet.

Picture of what it says, in the trade's own order:

    [state]   main shaft stopped, play taken up towards the die
    [between] lower end of the pin  <-- quantity -->  top of the die
    [limit]   test 0.20 .. 0.28 mm     (in service)
              readjust 0.22 .. 0.26 mm (when it is touched anyway)
    [gauge]   dial indicator           [reset] loosen lock nut, turn low screw, lock, measure again
    [depends_on] what must be right before    [upsets] what to measure again afterwards

Whether words that somebody wrote name a requirement: the same words as its id or its title, in any order.
"""

import re
from dataclasses import dataclass
from enum import Enum

from tapewright.number import Source

#: Words that tell no thing from another.
EMPTY_WORDS = frozenset({"and", "its", "the", "of", "to", "main", "a"})


def words_in(text: object) -> frozenset[str]:
    """Return the words of a text that tell things apart: small letters, without the s of a plural."""
    found = re.findall(r"\w+", str(text or "").casefold().replace("_", " "))
    return frozenset(word.removesuffix("s") for word in found if word not in EMPTY_WORDS)


def is_named(text: object, *names: object) -> bool:
    """Return whether a text holds the same words as one of the names."""
    said = words_in(text)
    return bool(said) and said in map(words_in, names)


class Stage(Enum):
    """What kind of thing is set, in the order of the work (common practice, no source).

    Springs come late because load depends on position; timing last but one because it depends on all.
    """

    FREEDOM = "freedom"
    END_PLAY = "end-play"
    STATIC_POSITION = "static position"
    CLEARANCE = "clearance"
    SPRING_LOAD = "spring load"
    TIMING = "timing"
    FUNCTION = "function"


STAGE_RANK: dict[Stage, int] = {stage: rank for rank, stage in enumerate(Stage)}


class LimitKind(Enum):
    """What sort of limit a requirement sets."""

    MIN = "min"
    MAX = "max"
    BOTH = "both"
    NEAR_NOT_TOUCHING = "some but not touching"
    NOT_TO_BIND = "not to bind"
    FLUSH = "flush"
    EQUAL_WITHIN = "equal within"
    ORDERED = "ordered"
    ALL_OF = "all of a set"
    BY_EYE = "by eye"
    NONE_KNOWN = "no numeric limit known"


#: which ends a kind needs; every other end is a fault in the sheet ("low?" may be there or not)
ENDS_OF: dict[LimitKind, tuple[str, ...]] = {
    LimitKind.MIN: ("low",),
    LimitKind.MAX: ("high",),
    LimitKind.BOTH: ("low", "high"),
    LimitKind.NEAR_NOT_TOUCHING: ("high?",),
    LimitKind.NOT_TO_BIND: (),
    LimitKind.FLUSH: ("high?",),
    LimitKind.EQUAL_WITHIN: ("high",),
    LimitKind.ORDERED: ("low?",),
    LimitKind.ALL_OF: (),
    LimitKind.BY_EYE: (),
    LimitKind.NONE_KNOWN: (),
}

#: kinds whose answer is yes or no
YES_OR_NO = frozenset({LimitKind.NOT_TO_BIND, LimitKind.ALL_OF, LimitKind.BY_EYE})
#: kinds that can be answered by eye as well as by a number
EYE_WILL_DO = YES_OR_NO | {LimitKind.FLUSH, LimitKind.NEAR_NOT_TOUCHING, LimitKind.ORDERED}


@dataclass(frozen=True, slots=True)
class Ends:
    """Low and high end of a limit in the requirement's unit; None where there is none."""

    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Requirement:
    """One thing a machine must satisfy.

    Attributes:
        id: short name, unique in the sheet for each variant.
        station: the part of the machine; one page of the bench form.
        what: the requirement in a short phrase.
        stage: where it stands in the order of the work.
        kind: sort of limit.
        unit: unit of the limits and of readings that state none; "yes" for yes-or-no kinds.
        test: limits in service (wider); readjust: limits to set to when it is touched (tighter), None if the same.
        source: where the limits come from, with their standing.
        state: how the machine stands while measuring.
        between: the two surfaces, or the two things compared.
        quantity: what is measured, for example "gap" or "spring load".
        positions: names of the places to measure; the worst one counts. Empty for one place.
        gauge: key of `GAUGES`, empty when not stated; gauge_u: stated standard uncertainty in `unit`.
        tools, reset, cautions: how it is set, and what to mind before.
        warm, powered, locked: conditions a reading must have to count; None when it does not matter.
        variants: the variants it applies to; empty for all.
        depends_on: ids that must be right before; upsets: ids it disturbs.
        knobs: screws that move it, for trim.
        note: anything else.
    """

    id: str
    station: str
    what: str
    stage: Stage
    kind: LimitKind
    unit: str
    test: Ends
    source: Source
    readjust: Ends | None = None
    state: str = ""
    between: tuple[str, ...] = ()
    quantity: str = ""
    positions: tuple[str, ...] = ()
    gauge: str = ""
    gauge_u: float | None = None
    tools: tuple[str, ...] = ()
    reset: str = ""
    cautions: tuple[str, ...] = ()
    warm: bool | None = None
    powered: bool | None = None
    locked: bool | None = None
    variants: tuple[str, ...] = ()
    depends_on: tuple[str, ...] = ()
    upsets: tuple[str, ...] = ()
    knobs: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A machine's requirements.

    Attributes:
        machine: its name.
        requirements: those that apply to the chosen variant, in the order written; ids unique.
        variant: the variant the sheet was read for, empty when it has none.
        note: anything the sheet says of itself.
    """

    machine: str
    requirements: tuple[Requirement, ...]
    variant: str = ""
    note: str = ""
