"""What an adjustment overtakes: findings that the parts it was done at can bring about, requirements that it upsets.

    adjustment, at a station --> its causes --> what they show, and what stands for the station itself --> overtaken
    adjustment, of a requirement --> the requirement and all that the sheet's order has measured again after it
    adjustment, of nothing that is known --> everything from before it

What was overtaken may be so still or not: it speaks neither for nor against a part. After a remedy in vain the fault is
there as before, by the word of who tried; then only what stands for the station itself is overtaken.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tapewright.advisor.machine_model import Model
from tapewright.advisor.measured.fields import Document, tables
from tapewright.gauges.requirement import is_named, words_in

NOT_SHOWN = "not shown"


@dataclass(frozen=True, slots=True)
class Change:
    """An adjustment.

    Attributes:
        says: what was changed and where it is written, for people.
        what: what was changed.
        station: where, as it was written; empty when not said.
        recheck: what must be checked again, as it was written.
        in_vain: whether the fault stayed.
    """

    says: str
    what: str
    station: str = ""
    recheck: tuple[str, ...] = ()
    in_vain: bool = False


@dataclass(frozen=True, slots=True)
class Overtaken:
    """Findings about which a piece of evidence says nothing any more, and which changes did that."""

    findings: frozenset[str]
    changes: tuple[str, ...]


def stations_meant(words: str, model: Model) -> frozenset[str]:
    """Return the stations whose name or title shares a word with these; none for words that mean no station."""
    said = words_in(words)
    return frozenset(s for s, title in model.stations.items() if said & (words_in(s) | words_in(title)))


def overtaken_by(changes: Iterable[Change], model: Model, sheet: Document | None = None) -> Overtaken:
    """Return the findings that the changes overtake in evidence from before them.

    Args:
        changes: adjustments.
        model: the machine.
        sheet: a sheet document, which knows at which station a requirement is; None for none.
    """
    there, findings = list(changes), set[str]()
    for change in there:
        findings |= _touched(change, model, sheet or {})
    return Overtaken(frozenset(findings), tuple(change.says for change in there))


def _touched(change: Change, model: Model, sheet: Document) -> set[str]:
    words = [change.station] if change.station else [str(r.get("station", "")) for r in _named(change.what, sheet)]
    at = {station for each in words for station in stations_meant(each, model)}
    itself = {n for n, f in model.findings.items() if f.condition_of in at or at & set(f.clears)}
    if change.in_vain:
        return itself
    if not at:
        return set(model.findings)
    return itself | {shown for cause in model.causes.values() if cause.station in at for shown in cause.shows}


def requirements_upset(change: Change, model: Model, sheet: Document) -> frozenset[str]:
    """Return the ids of a sheet document's requirements that a change moves, itself or through others."""
    named = {str(r.get("id")) for r in _named(change.what, sheet)}
    if not named:
        named = {str(r.get("id")) for r in tables(sheet, "requirements") if _at(change.station, r, model)}
    named |= {str(r.get("id")) for words in change.recheck for r in _named(words, sheet)}
    upset = {str(id_) for name in named for id_ in _again(sheet, name)}
    return frozenset(named | upset)


def _again(sheet: Document, name: str) -> list[object]:
    """Return what must be measured again after a requirement was set."""
    order = sheet.get("recheck")
    again = order.get(name) if isinstance(order, Mapping) else None
    return again if isinstance(again, list) else []


def _at(station: str, requirement: Document, model: Model) -> bool:
    """Return whether a change at a station may concern a requirement; one at no known station concerns all."""
    here = str(requirement.get("station", ""))
    meant = stations_meant(station, model)
    if words_in(station) & words_in(here) or not meant:
        return not meant or bool(words_in(station) & words_in(here))
    return bool(meant & stations_meant(here, model))


def without(sheet: Document, stale: Mapping[str, str]) -> dict[str, object]:
    """Return a sheet document in which the verdicts of some requirements are not shown; id -> which change did it."""
    requirements = []
    for requirement in tables(sheet, "requirements"):
        verdict, by = requirement.get("verdict"), stale.get(str(requirement.get("id")))
        if by is not None and isinstance(verdict, Mapping):
            verdict = {**verdict, "state": NOT_SHOWN, "why": f"measured before {by}"}
        requirements.append({**requirement, "verdict": verdict})
    return {**sheet, "requirements": requirements}


def _named(words: str, sheet: Document) -> list[Document]:
    """Return the requirements that words name."""
    return [r for r in tables(sheet, "requirements") if is_named(words, r.get("id"), _check(r))]


def _check(requirement: Document) -> object:
    verdict = requirement.get("verdict")
    return verdict.get("check") if isinstance(verdict, Mapping) else ""
