"""Danger first: what was found or said that can hurt somebody, and what must not be done while it stands.

    findings that are there, or likely  --+
    words said to be so                 --+--> dangers, before all reasoning --> tests that they forbid are not advised

A danger is raised too readily rather than too late: words raise it even where nobody knows which finding they mean.
"""

import re
from collections.abc import Iterable, Mapping

from tapewright.advisor import document
from tapewright.advisor.evidence import Answer
from tapewright.advisor.machine_model import RISKS, Danger, Model, Test
from tapewright.advisor.vocabulary import said_plainly, tokens

#: A word before a danger's word that denies it, and what undoes the denial.
DENIES, DENIES_NOT = frozenset({"no", "not", "never", "without", "cannot"}), frozenset({"longer", "only", "just"})
#: The gate that a danger closes again: what was checked before it happened proves nothing.
DEAD_CHECK = "dead electrical check"


def dangers_in(model: Model, answers: Iterable[Answer], said: Iterable[str]) -> tuple[document.Danger, ...]:
    """Return the dangers, in the order of the model's file.

    Args:
        model: the machine.
        answers: one a finding.
        said: texts that were said to be so.
    """
    there = {a.finding: model.findings[a.finding].says for a in answers if a.if_present > a.if_absent}
    texts = list(said)
    out = []
    for danger in model.dangers.values():
        because = [there[finding] for finding in danger.findings if finding in there]
        because += [f"you wrote {text!r}" for text in texts if text not in model.findings and raised_by(danger, text)]
        if because:
            out.append(
                document.Danger(
                    danger=danger.name,
                    says=danger.says,
                    do=danger.do,
                    forbids=danger.forbids,
                    because=tuple(dict.fromkeys(because)),
                )
            )
    return tuple(out)


def raised_by(danger: Danger, text: str) -> bool:
    """Return whether a text holds all words of one of the danger's phrases and does not deny them."""
    words = re.findall(r"[a-z0-9]+", said_plainly(text))
    stems = [stem[0] if (stem := tokens(word)) else "" for word in words]
    for phrase in danger.words:
        wanted = tokens(phrase)
        places = [stems.index(word) for word in wanted if word in stems]
        if len(places) == len(wanted) and not (DENIES.isdisjoint(wanted) and any(_denied(words, n) for n in places)):
            return True
    return False


def _denied(words: list[str], place: int) -> bool:
    before, after = words[max(0, place - 1) : place], words[place : place + 1]
    return bool(DENIES & set(before)) and not DENIES_NOT & set(after)


def forbidden(test: Test, dangers: Iterable[document.Danger]) -> bool:
    """Return whether a danger forbids a test."""
    return any(RISKS.index(test.risk) >= RISKS.index(danger.forbids) for danger in dangers)


def still_on_record(on_record: frozenset[str], dangers: Iterable[document.Danger]) -> frozenset[str]:
    """Return the gates that stay passed: a danger under power sends everybody back to the dead electrical check."""
    closes = any(RISKS.index(danger.forbids) <= RISKS.index("power") for danger in dangers)
    return on_record - {DEAD_CHECK} if closes else on_record


def texts_said(table: Mapping[str, object]) -> list[str]:
    """Return the free texts of an evidence file that are said to be so, its notes included."""
    listed, entries = table.get("yes"), table.get("finding")
    out = [table.get("note"), table.get("title"), *(listed if isinstance(listed, list) else [listed])]
    for entry in entries if isinstance(entries, list) else []:
        if isinstance(entry, Mapping):
            out += [entry.get("note")] + ([entry.get("is")] if entry.get("answer", "yes") in ("yes", True) else [])
    return [text for text in out if isinstance(text, str)]
