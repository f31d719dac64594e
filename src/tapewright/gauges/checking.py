"""A sheet against its journal: every verdict, what must be measured again, and the next thing to do."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from tapewright.gauges.cautions import cautions_before
from tapewright.gauges.gauge import out_of_proportion
from tapewright.gauges.journal import Entry, Evidence, Journal, evidence_at, unusable
from tapewright.gauges.judging import COMPARING, Settle, judge_evidence, limit_of, positions_of, settle
from tapewright.gauges.order import Order, order_of
from tapewright.gauges.requirement import LimitKind, Requirement, Sheet
from tapewright.number import State, Verdict
from tapewright.number.verdict import refuse


@dataclass(frozen=True, slots=True)
class Checked:
    """One requirement with its answer.

    Attributes:
        requirement: the line of the sheet.
        verdict: None when the sheet knows no numeric limit.
        found: what the readings came to, per position.
        touched: it was changed, so the readjust limits are in force.
        recheck_because: ids changed since it was last measured completely; empty when nothing is owed.
        accepted: the owner's reason to go on with it as it is.
        settle: what finer gauge would settle a "not shown".
        ask: a reading out of all proportion to the limits, and what to make sure of; empty when there is none.
    """

    requirement: Requirement
    verdict: Verdict | None
    found: Mapping[str, Evidence]
    touched: bool
    recheck_because: tuple[str, ...]
    accepted: str
    settle: Settle | None
    ask: str = ""

    @property
    def state(self) -> State:
        """The answer; a requirement without a known limit is never shown to be met."""
        return State.NOT_SHOWN if self.verdict is None else self.verdict.state

    @property
    def closed(self) -> bool:
        """Return whether the work may go on past it: shown within, recorded (no limit known), or accepted as it is."""
        if self.recheck_because:
            return False
        if self.requirement.kind is LimitKind.NONE_KNOWN:
            return bool(self.found)
        return self.state is State.WITHIN or bool(self.accepted)


@dataclass(frozen=True, slots=True)
class NextStep:
    """What to do next.

    Attributes:
        id: the requirement; why: the reason in a sentence.
        cautions: what to mind before it.
        do: what to do.
        upsets: what must be measured again if it is changed.
        together: the loop it lies on, to be set by trim; empty when it lies on none.
    """

    id: str
    why: str
    cautions: tuple[str, ...]
    do: str
    upsets: tuple[str, ...]
    together: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetCheck:
    """All answers for one sheet and journal; `checked` in the order of the sheet."""

    sheet: Sheet
    order: Order
    checked: tuple[Checked, ...]
    next: NextStep | None
    recheck: tuple[str, ...]


def check(sheet: Sheet, journal: Journal = ()) -> SheetCheck:
    """Judge every requirement; entries of the journal must name ids and positions that the sheet has."""
    order = order_of(sheet)
    changes = _last_changes(order, journal)
    entries: dict[str, list[tuple[int, Entry]]] = {r.id: [] for r in sheet.requirements}
    for n, entry in enumerate(journal):
        entries[entry.id].append((n, entry))
    checked = {r.id: _check_one(r, entries[r.id], changes[r.id]) for r in sheet.requirements}
    recheck = tuple(id_ for id_ in order.ids if checked[id_].recheck_because)
    return SheetCheck(sheet, order, tuple(checked.values()), _next(order, checked), recheck)


def narrowed(result: SheetCheck, ids: frozenset[str]) -> SheetCheck:
    """Return the answers for some requirements alone."""
    checked = tuple(c for c in result.checked if c.requirement.id in ids)
    return replace(result, checked=checked, recheck=tuple(id_ for id_ in result.recheck if id_ in ids))


def judge_alone(requirement: Requirement, entry: Entry) -> Verdict | None:
    """Judge one reading at its own position against the test limits; None where no limit is known."""
    found = evidence_at(requirement, [entry])
    if found is None:
        return None
    alone = requirement
    if entry.position and requirement.kind not in COMPARING:
        alone = replace(requirement, positions=(entry.position,))
    return judge_evidence(alone, {entry.position: found}, touched=False)


def _last_changes(order: Order, journal: Journal) -> dict[str, dict[str, int]]:
    """Give, for each id, the ids whose change upset it (itself too) with the place of the last such change."""
    upset_by: dict[str, dict[str, int]] = {id_: {} for id_ in order.ids}
    for n, entry in enumerate(journal):
        if entry.changed:
            for id_ in (entry.id, *order.recheck[entry.id]):
                upset_by[id_][entry.id] = n
    return upset_by


def _check_one(r: Requirement, entries: Sequence[tuple[int, Entry]], changes: Mapping[str, int]) -> Checked:
    since = max(changes.values(), default=-1)
    readings = [e for n, e in entries if n > since and e.is_reading]
    reasons = [why for e in readings if (why := unusable(r, e))]
    found = _found(r, [e for e in readings if not unusable(r, e)])
    touched = any(e.changed for _, e in entries)
    complete = all(p in found for p in positions_of(r))
    owed = () if complete else tuple(sorted(changes, key=changes.__getitem__))
    verdict = judge_evidence(r, found, touched=touched)
    if verdict is not None and not found and (owed or reasons):
        why = f"measure again: {', '.join(owed)} was changed" if owed else reasons[-1]
        verdict = refuse(limit_of(r, touched=touched), why)
    accepted = next((e.accepted for n, e in reversed(entries) if e.accepted and n > since), "")
    wanting = verdict is not None and verdict.state is State.NOT_SHOWN and complete
    finer = settle(verdict, _deciding(r, found, verdict)) if wanting and verdict is not None else None
    times = None if verdict is None else out_of_proportion(verdict)
    ask = "" if times is None else f"It is {times:.0f} times the limit: the right box, the right unit? Read it again."
    return Checked(r, verdict, found, touched, owed, accepted, finer, ask)


def _found(r: Requirement, readings: Sequence[Entry]) -> dict[str, Evidence]:
    at: dict[str, list[Entry]] = {}
    for entry in readings:
        at.setdefault(entry.position, []).append(entry)
    return {p: found for p in positions_of(r) if (found := evidence_at(r, at.get(p, []))) is not None}


def _deciding(r: Requirement, found: Mapping[str, Evidence], verdict: Verdict) -> Evidence | None:
    """Return the evidence of the position that decided; `why` begins with its name when there are several."""
    return next((found[p] for p in positions_of(r) if p in found and (not p or verdict.why.startswith(p + ":"))), None)


def _next(order: Order, checked: Mapping[str, Checked]) -> NextStep | None:
    open_ids = [id_ for id_ in order.ids if not checked[id_].closed]
    if not open_ids:
        return None
    id_ = open_ids[0]
    here, loop = checked[id_], order.loop_of(id_)
    cautions = cautions_before(here.requirement)
    return NextStep(id_, _why(here, loop), cautions, _what_to_do(here, loop), order.recheck[id_], loop)


def _why(here: Checked, loop: tuple[str, ...]) -> str:
    stage = f"all that it stands on is in order, and {here.requirement.stage.value} comes next"
    ring = f" It upsets, and is upset by, {', '.join(i for i in loop if i != here.requirement.id)}." if loop else ""
    if here.recheck_because:
        return f"Must be measured again since {', '.join(here.recheck_because)} was changed; {stage}.{ring}"
    if here.verdict is None:
        return f"No limit is known: record it as found; {stage}.{ring}"
    if here.state is State.OUTSIDE:
        return f"Outside: {here.verdict.why}; {stage}.{ring}"
    return f"Not shown: {here.verdict.why}; {stage}.{ring}"


def _what_to_do(here: Checked, loop: tuple[str, ...]) -> str:
    r = here.requirement
    if here.ask:
        return here.ask
    if here.state is State.OUTSIDE and not here.recheck_because:
        how = r.reset or "Loosen, move, lock; then measure again"
        trim = " Note each move and its readings and let trim work out the next." if loop else ""
        return f"{how.rstrip('.')}.{trim}"
    if here.settle is not None:
        return here.settle.how
    state = f", {r.state.rstrip('.')}" if r.state else ""
    if r.quantity:
        return f"Measure {r.quantity}{state}."
    return f"Try: {r.what[:1].lower()}{r.what[1:]}{state}."
