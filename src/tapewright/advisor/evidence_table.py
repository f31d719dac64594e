r"""An evidence file, once read from TOML or JSON, as evidence: every word a person wrote must lead to a finding.

Picture:

    machine = "page-printer"
    yes = ["prints nearly only T", "better-warm"]        ids, known phrases or free words
    no = ["line wrong"]
    cannot_say = ["margin-narrow"]
    done = ["dead electrical check", "speed proven"]     gates on record
    tried = ["contact-dirty"]                            remedies done in vain

    [[finding]]
    is = "drops a mark"      answer = "yes"      element = 4      station = "selector"      sure = 0.8

    [[pairs]]
    sent = "RYRYE T"         received = "YGYGT T"        text, or codes such as "10000 00001"
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from tapewright.advisor.danger import raised_by, texts_said
from tapewright.advisor.evidence import Answer, Evidence, cannot_say, no, yes
from tapewright.advisor.machine_model import Model
from tapewright.advisor.measured import KINDS
from tapewright.advisor.search import MOST_CHOICES, Match, either, find, is_known, pair_in, place_in, surely
from tapewright.errors import InputError

#: An evidence file as TOML or JSON has it.
Table: TypeAlias = Mapping[str, object]

KEYS = {"machine", "title", "note", "yes", "no", "cannot_say", "done", "tried", "finding", "pairs"}
#: Where a finding was seen; they are kept in words and shown with the evidence.
PLACES = ("element", "track", "contact", "column", "key", "character", "after", "row")
Make = Callable[[str, str, str], Answer]
ANSWERS: dict[str, Make] = {"yes": yes, "no": no, "can't say": cannot_say, "cannot say": cannot_say}
LISTS: dict[str, Make] = {"yes": yes, "no": no, "cannot_say": cannot_say}
PAIR_KEYS = {"sent", "received", "note"}


@dataclass(frozen=True, slots=True)
class SentReceived:
    """What was sent and what came, as written in the file."""

    sent: str
    received: str
    place: str


@dataclass(frozen=True, slots=True)
class EvidenceTable:
    """One evidence file, checked.

    Attributes:
        machine: the machine it names, or "".
        evidence: answers, gates and remedies.
        unclear: for each set of words that fits a few findings equally well, the answers it may mean.
        pairs: characters sent and received.
    """

    machine: str
    evidence: Evidence
    unclear: tuple[tuple[Answer, ...], ...]
    pairs: tuple[SentReceived, ...]


def machine_named(table: Table, source: str) -> str:
    """Return the machine an evidence file names, "" when it names none; needed before the rest can be read."""
    machine = table.get("machine", "")
    if not isinstance(machine, str):
        raise InputError(source, place="key 'machine'", expected="a machine's name", found=repr(machine))
    return machine


def read_evidence(table: Table, source: str, model: Model) -> EvidenceTable:
    """Turn a file's table into evidence.

    Raises:
        InputError: names the place, what was expected, what was found, and near matches for unknown words.
    """
    if "format" in table:
        # a result document that can be read as evidence does not come here
        raise InputError(source, place="key 'format'", expected="a result this program reads as evidence: "
                         + ", ".join(sorted(KINDS)) + "; or an evidence file, which has no format",
                         found=repr(table["format"]), do="Leave the file out, or write it anew.")  # fmt: skip
    for key in table:
        if key not in KEYS:
            raise InputError(source, place=f"key {key!r}", expected="one of " + ", ".join(sorted(KEYS)),
                             found=repr(key), do="Mend the evidence file.")  # fmt: skip
    readings: list[tuple[Answer, ...]] = []
    pairs: list[SentReceived] = []
    notes: list[str] = []
    danger = any(raised_by(each, text) for each in model.dangers.values() for text in texts_said(table))
    for key, make in LISTS.items():
        for number, words in enumerate(texts_in(table, key, source), start=1):
            place = f"{key}[{number}]"
            if key == "yes" and (pair := pair_in(words)) and not is_known(words, model):
                pairs.append(SentReceived(*pair, place))
                notes.append(f"{words!r} taken as: {pair[0]} was sent and {pair[1]} came; if it is the other way, use "
                             f"--sent {pair[1]} --received {pair[0]}")  # fmt: skip
                continue
            try:
                matches = resolve(words, model, source, place)
            except InputError as refused:
                if not danger:
                    raise
                notes.append(f"not counted, because it was not understood: {refused}")  # the danger must be told
                continue
            readings.append(_answers(matches, make, words, place_in(words)))
    for number, entry in enumerate(_tables(table, "finding", source), start=1):
        readings.append(_entry(entry, model, source, f"finding[{number}]"))
    sure = tuple(reading[0] for reading in readings if len(reading) == 1)
    gates, causes = frozenset(_known(table, "done", model.gates, source)), _known(table, "tried", model.causes, source)
    pairs += (_pair(entry, source, f"pairs[{n}]") for n, entry in enumerate(_tables(table, "pairs", source), 1))
    return EvidenceTable(
        machine_named(table, source),
        Evidence(sure, gates, frozenset(causes), tuple(texts_said(table)), tuple(notes)),
        tuple(reading for reading in readings if len(reading) > 1),
        tuple(pairs),
    )


def _answers(matches: Sequence[Match], make: Make, words: str, at: str) -> tuple[Answer, ...]:
    return tuple(_meant(make, match)(match.finding, f"you wrote {words!r}", at) for match in matches)


def _meant(make: Make, match: Match) -> Make:
    """Words that deny a finding turn yes into no and no into yes."""
    if not match.denied or make is cannot_say:
        return make
    return no if make is yes else yes


def resolve(words: str, model: Model, source: str, place: str, station: str = "") -> list[Match]:
    """Return the finding somebody's words mean, or the few they may mean equally well.

    Raises:
        InputError: when it is not clear; names the nearest.
    """
    matches = find(words, model, station=station)
    match = surely(matches)
    if match is not None:
        return [match]
    if few := either(matches):
        return few
    near = "; ".join(
        f"{m.finding} ({model.findings[m.finding].says}{': the opposite, or denied?' if m.opposite else ''})"
        for m in matches[:MOST_CHOICES]
    )
    raise InputError(
        source,
        place=place,
        expected="a finding's id, or words that fit one finding only",
        found=repr(words),
        do=(f"Nearest: {near}." if near else "Nothing comes near.") + " `tapewright diagnose --list WORD` finds ids.",
    )


def _entry(entry: Table, model: Model, source: str, place: str) -> tuple[Answer, ...]:
    allowed = {"is", "answer", "station", "sure", "note", *PLACES}
    for key in entry:
        if key not in allowed:
            raise InputError(source, place=f"{place}.{key}", expected="one of " + ", ".join(sorted(allowed)),
                             found=repr(key))  # fmt: skip
    words = entry.get("is")
    if not isinstance(words, str) or not words.strip():
        raise InputError(source, place=f"{place}.is", expected="a finding's id or words for it", found=repr(words))
    station = entry.get("station", "")
    if not isinstance(station, str) or (station and station not in model.stations):
        raise InputError(source, place=f"{place}.station", expected="one of " + ", ".join(model.stations),
                         found=repr(station))  # fmt: skip
    answer = entry.get("answer", "yes")
    if isinstance(answer, bool):
        answer = "yes" if answer else "no"
    if answer not in ANSWERS:
        raise InputError(source, place=f"{place}.answer", expected="yes, no or can't say", found=repr(answer))
    at = ", ".join(f"{key} {entry[key]}" for key in PLACES if key in entry) or place_in(words)
    made = _answers(resolve(words, model, source, f"{place}.is", station), ANSWERS[answer], words, at)
    return tuple(_less_sure(each, entry.get("sure", 1.0), source, place) for each in made)


def _less_sure(answer: Answer, sure: object, source: str, place: str) -> Answer:
    if isinstance(sure, bool) or not isinstance(sure, int | float) or not 0.5 <= sure <= 1:
        raise InputError(source, place=f"{place}.sure", expected="a number from 0.5 (a guess) to 1 (sure)",
                         found=repr(sure))  # fmt: skip
    doubt = (1.0 - sure) / sure
    present, absent = max(answer.if_present, doubt), max(answer.if_absent, doubt)
    how = answer.how if sure == 1 else f"{answer.how}, {100 * sure:.0f} % sure"
    return Answer(answer.finding, present, absent, how, answer.at)


def _pair(entry: Table, source: str, place: str) -> SentReceived:
    for key in entry:
        if key not in PAIR_KEYS:
            expected = "one of " + ", ".join(sorted(PAIR_KEYS))
            raise InputError(source, place=f"{place}.{key}", expected=expected, found=repr(key))
    texts = {key: entry.get(key) for key in ("sent", "received")}
    for key, text in texts.items():
        if not isinstance(text, str) or not text:
            raise InputError(source, place=f"{place}.{key}", expected="text or codes", found=repr(text))
    return SentReceived(str(texts["sent"]), str(texts["received"]), place)


def texts_in(table: Table, key: str, source: str) -> list[str]:
    """Return the texts of a list in an evidence file."""
    value = table.get(key, [])
    if isinstance(value, str):
        value = [value]
    if not isinstance(value, list) or not all(isinstance(each, str) and each.strip() for each in value):
        raise InputError(source, place=f"key {key!r}", expected="a list of texts", found=repr(value))
    return value


def _tables(table: Table, key: str, source: str) -> list[Table]:
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(each, Mapping) for each in value):
        raise InputError(source, place=f"key {key!r}", expected=f"tables [[{key}]]", found=repr(value)[:80])
    return value


def _known(table: Table, key: str, names: Mapping[str, object], source: str) -> list[str]:
    values = texts_in(table, key, source)
    for value in values:
        if value not in names:
            raise InputError(source, place=f"key {key!r}", expected="one of " + ", ".join(names), found=repr(value))
    return values
