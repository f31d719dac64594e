"""What the gauges say: a sheet checked against its journal, and the next move of the screws, as documents."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from tapewright.furniture.document import Document, figure, told
from tapewright.gauges.checking import Checked, NextStep, SheetCheck
from tapewright.gauges.journal import ByEye, Evidence, Interval
from tapewright.gauges.requirement import Stage
from tapewright.number import Reading, Standing, State, Verdict

#: an end beyond this is no end
ENDLESS = 1e300
#: from this many ids in all, `recheck` names only what is upset directly: the whole of it grows with the square
LONG_RECHECK = 50_000


class Judged(Document, frozen=True):
    """A verdict; without a limit in figures both ends are null and it is never shown to be met."""

    check: str
    state: State
    value: Annotated[float | None, figure("value")]
    u: Annotated[float | None, told("Standard uncertainty; null for a go/no-go pair or when it is not known.")]
    low: float | None
    high: float | None
    unit: str
    source: str
    standing: Standing
    why: str


class Found(Document, frozen=True):
    """What counts at one position; one of number, interval and by_eye is not null."""

    position: str | None
    number: Annotated[Reading | None, figure("number")] = None
    interval: Annotated[
        tuple[float | None, float | None] | None, told("Last gauge that goes, first that does not; null for no end.")
    ] = None
    by_eye: bool | None = None


class Settle(Document, frozen=True):
    """What would settle a "not shown"."""

    u_needed: Annotated[float | None, told("Standard uncertainty that would do, in the limit's unit.")]
    gauge: str | None
    how: str


class CheckedRequirement(Document, frozen=True):
    """One line of the sheet with its answer."""

    id: str
    station: str
    stage: Stage
    verdict: Judged
    readings: tuple[Found, ...]
    limits_in_force: Literal["test", "readjust"]
    closed: Annotated[bool, told("The work may go on past it: within, recorded (no limit known) or accepted.")]
    accepted: str | None
    settle: Settle | None
    ask: Annotated[
        str | UnsetType, told("A reading out of all proportion to its limits, and what to make sure of.")
    ] = UNSET


class Next(Document, frozen=True):
    """What comes next in the order of the work."""

    id: str
    why: str
    do: Annotated[str, told("Cautions first.")]
    upsets: Annotated[tuple[str, ...], told("To be measured again if it is changed.")]
    together: Annotated[tuple[str, ...], told("The loop it lies on, to be set by trim; empty when it lies on none.")]


class RecheckOpen(Document, frozen=True):
    """A requirement that must be measured again."""

    id: str
    because: Annotated[tuple[str, ...], told("What was changed since.")]


class CheckedSheet(Document, frozen=True, kw_only=True):
    """Every requirement judged, the order of the work, what comes next: `tapewright sheet check SHEET --json`."""

    format: Literal["tapewright/sheet/1"] = "tapewright/sheet/1"
    machine: str
    variant: str | None
    requirements: Annotated[tuple[CheckedRequirement, ...], told("In the order of the sheet.")]
    order: tuple[str, ...]
    next: Next | None
    recheck: Annotated[dict[str, tuple[str, ...]], told("What to measure again after each was changed.")]
    recheck_open: tuple[RecheckOpen, ...]
    loops: tuple[tuple[str, ...], ...]
    recheck_is: Annotated[
        Literal["direct"] | UnsetType,
        told("There on a long sheet: `recheck` names only what is upset directly; follow it from id to id."),
    ] = UNSET


TrimState = Literal["probe", "move", "done", "cannot"]


SlipKind = Literal["mistyped", "slipped", "swapped", "misread"]


class OddTrial(Document, frozen=True):
    """A trial that does not fit the others."""

    trial: Annotated[int, figure("trial", says="Counted from 1.")]
    why: str
    likely: SlipKind
    would_fit: Annotated[dict[str, float], told("Reading or screw and the number that would fit.")]


class Trim(Document, frozen=True, kw_only=True):
    """The next move of the screws, what every reading will be, how sure it is: `tapewright trim TRIALS --json`."""

    format: Literal["tapewright/trim/1"] = "tapewright/trim/1"
    cautions: Annotated[tuple[str, ...], told("What to mind before a knob is turned.")]
    sensitivity: Annotated[
        dict[str, dict[str, Reading]], told("Reading, knob and effect, in reading unit per knob unit.")
    ]
    move: Annotated[dict[str, float], told("Knob and change from the last trial's position; others are left alone.")]
    predicted: Annotated[dict[str, Reading], told("Reading and its true value after the move.")]
    sure: Annotated[float, figure("sure that all are then inside"), Meta(ge=0, le=1)]
    state: TrimState
    why: str
    now: Annotated[tuple[Verdict, ...], told("Each reading as it stands, from the last trial.")]
    undo: Annotated[dict[str, float], told("Knob and the position to go back to.")]
    trials: Annotated[int, figure("trials", says="So many so far, the first as found.")]
    goal: Annotated[dict[str, float], told("Knob and its position after the move.")]
    knob_units: dict[str, str]
    odd_trials: Annotated[tuple[OddTrial, ...], told("Trials that do not fit the others; read these again.")] = ()


def sheet_document(result: SheetCheck) -> CheckedSheet:
    """Return the document of a sheet that was checked."""
    order, held = result.order, {c.requirement.id for c in result.checked}
    ids = tuple(id_ for id_ in order.ids if id_ in held)
    long = len(ids) == len(order.ids) and order.recheck.names > LONG_RECHECK
    return CheckedSheet(
        machine=result.sheet.machine,
        variant=result.sheet.variant or None,
        requirements=tuple(_requirement(c) for c in result.checked),
        order=ids,
        next=None if result.next is None else _next(result.next),
        recheck={id_: order.later[id_] if long else order.recheck[id_] for id_ in ids},
        recheck_open=tuple(
            RecheckOpen(c.requirement.id, c.recheck_because) for c in result.checked if c.recheck_because
        ),
        loops=tuple(loop for loop in order.loops if held & set(loop)),
        recheck_is="direct" if long else UNSET,
    )


def _next(step: NextStep) -> Next:
    do = " ".join([*(f"{caution.rstrip('.')}." for caution in step.cautions), step.do])
    return Next(step.id, step.why, do, step.upsets, step.together)


def _requirement(c: Checked) -> CheckedRequirement:
    r, finer = c.requirement, c.settle
    return CheckedRequirement(
        r.id,
        r.station,
        r.stage,
        _judged(c.verdict) if c.verdict is not None else _no_limit(c),
        tuple(_found(position or None, found) for position, found in c.found.items()),
        "readjust" if c.touched and r.readjust else "test",
        c.closed,
        c.accepted or None,
        None if finer is None else Settle(finer.u_needed, finer.gauge, finer.how),
        c.ask or UNSET,
    )


def _judged(v: Verdict) -> Judged:
    limit, source = v.limit, v.limit.source
    return Judged(
        limit.check, v.state, v.value, v.u, limit.low, limit.high, limit.unit, str(source), source.standing, v.why
    )


def _no_limit(c: Checked) -> Judged:
    r = c.requirement
    found = next((f for f in c.found.values() if isinstance(f, Reading)), Reading(None, None, r.unit))
    why = "no numeric limit is known; " + ("recorded as found" if c.found else "not measured yet")
    return Judged(
        r.what, State.NOT_SHOWN, found.value, found.u, None, None, r.unit, str(r.source), r.source.standing, why
    )


def _found(position: str | None, found: Evidence) -> Found:
    if isinstance(found, ByEye):
        return Found(position, by_eye=found.yes)
    if isinstance(found, Interval):
        low, high = (end if abs(end) < ENDLESS else None for end in (found.low, found.high))
        return Found(position, interval=(low, high))
    return Found(position, number=found)
