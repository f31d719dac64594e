"""Causes at places: when the evidence names several elements, each of them has causes and findings of its own.

    one mark is short, contacts 2 and 5        gap too wide @ 2 ---- one mark is short @ 2
    gap wide, contact 5 (sheet)          -->   gap too wide @ 5 --+- one mark is short @ 5
                                                                  +- gap wide @ 5

So a line that names contact 2 and a sheet that names contact 5 do not bear each other out, and two bad contacts on one
recording are two causes. With one place in the evidence, or none, nothing is changed. Contact, code bar, interposer,
pin, track and element of one number are one place: the chain is one for each element.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

from tapewright.advisor.evidence import Answer, Evidence, no
from tapewright.advisor.machine_model import Cause, Model

#: From this strength on a cause sits where its finding does; below, it can bring the finding about anywhere.
SITS_FROM = 0.3
AT = " @ "


def name_of(name: str) -> str:
    """Return the id of a cause or finding without its place."""
    return name.partition(AT)[0]


def number_of(place: str) -> str:
    """Return the number of a place, "" for one that has none: "contact 3" has "3"."""
    number = place.rsplit(" ", 1)[-1]
    return number if number in "12345" else ""


def places_in(at: str) -> dict[str, str]:
    """Return number -> place, of places parted by commas."""
    return {number: place for place in at.split(", ") if (number := number_of(place))}


def at_their_places(
    model: Model, settled: Mapping[str, Answer], evidence: Evidence
) -> tuple[Model, dict[str, Answer], Evidence]:
    """Return model, answers and evidence with one cause and one finding for each place that the evidence names.

    Args:
        model: the machine.
        settled: one answer a finding.
        evidence: what is known, for the remedies tried.
    """
    placed = {a.finding: places_in(a.at) for a in settled.values() if a.if_present > a.if_absent and places_in(a.at)}
    labels: dict[str, list[str]] = {}
    for found in placed.values():
        for number, place in found.items():
            labels.setdefault(number, []).append(place)
    if len(labels) < 2:
        return model, dict(settled), evidence
    answers = {name: answer for name, answer in settled.items() if name not in placed}
    findings = {name: finding for name, finding in model.findings.items() if name not in placed}
    for name, found in placed.items():
        for number in labels:
            key, finding = name + AT + number, model.findings[name]
            place = found.get(number, "")
            findings[key] = replace(finding, name=key)
            if place:
                answers[key] = replace(settled[name], finding=key, at=place)
            elif settled[name].recording:  # a recording sees all of them
                answers[key] = replace(no(key, settled[name].how), recording=settled[name].recording)
    causes: dict[str, Cause] = {}
    for cause in model.causes.values():
        sits = any(cause.shows.get(name, 0.0) >= SITS_FROM for name in placed)
        for number in labels if sits else ("",):
            place = f" ({', '.join(dict.fromkeys(labels[number]))})" if number else ""
            key = cause.name + AT + number if number else cause.name
            causes[key] = replace(
                cause, name=key, says=cause.says + place, shows=_shows(cause, placed, [number] if number else labels)
            )
    tried = frozenset(name for name in causes if name_of(name) in evidence.tried)
    return replace(model, causes=causes, findings=findings), answers, replace(evidence, tried=tried)


def _shows(cause: Cause, placed: Mapping[str, object], numbers: Iterable[str]) -> dict[str, float]:
    out: dict[str, float] = {}
    for finding, strength in cause.shows.items():
        out |= {finding + AT + n: strength for n in numbers} if finding in placed else {finding: strength}
    return out
