"""What a sheet check shows: a requirement's words say which finding it is about, its verdict says the answer."""

from collections.abc import Mapping
from typing import Any

from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.measured.fields import figure_of, number, tables

#: A requirement that parts be alike says nothing about which way one of them is off.
SPREAD = ("alike", " even")


def requirement(finding: str, document: Mapping[str, Any], words: list[str], side: str) -> Answer | None:
    """Answer from every requirement whose id or check holds all the words of one of the phrases.

    Outside on the finding's side of the limit: present. Within: absent. Not shown: not examined. A requirement
    judged by eye has no side: outside is present when the finding takes either side.
    """
    verdicts = [entry for entry in tables(document, "requirements") if _about(entry, words)]
    answers = [answer for entry in verdicts if (answer := _judge(finding, entry, side)) is not None]
    present = [answer for answer in answers if answer.state == "present"]
    return present[0] if present else (answers[0] if answers else None)


def _about(entry: Mapping[str, Any], words: list[str]) -> bool:
    verdict = entry.get("verdict")
    check = verdict.get("check", "") if isinstance(verdict, Mapping) else ""
    text = f"{entry.get('id', '')} {check} {entry.get('what', '')}".lower().replace("-", " ").replace("_", " ")
    if any(word in text for word in SPREAD):
        return False
    return any(all(word in text for word in phrase.replace("-", " ").split()) for phrase in words)


def _judge(finding: str, entry: Mapping[str, Any], side: str) -> Answer | None:
    verdict = entry.get("verdict")
    if not isinstance(verdict, Mapping):
        return None
    value, low, high = number(verdict.get("value")), number(verdict.get("low")), number(verdict.get("high"))
    name = str(verdict.get("check") or entry.get("id"))
    seen = figure_of(dict(verdict))
    how = f"{name}: {seen if seen else 'read'}, {verdict.get('state')}"
    if verdict.get("state") == "within":
        return no(finding, how)
    if verdict.get("state") != "outside":
        return None
    if value is None:
        return yes(finding, how) if side == "either" else None
    is_high = high is not None and value > high
    is_low = low is not None and value < low
    wanted = {"high": is_high, "low": is_low, "either": is_high or is_low}
    return yes(finding, how) if wanted.get(side, False) else no(finding, how)
