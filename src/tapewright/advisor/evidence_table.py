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

Read one table of a model file, and refuse clearly what does not fit.
"""

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from tapewright.advisor.evidence import Answer, Evidence, cannot_say, no, yes
from tapewright.advisor.machine_model import Model
from tapewright.advisor.measured.documents import KINDS
from tapewright.advisor.search import Match, either, find, place_in, surely
from tapewright.errors import InputError

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


def machine_named(table: Mapping[str, Any], source: str) -> str:
    """Return the machine an evidence file names, "" when it names none; needed before the rest can be read."""
    machine = table.get("machine", "")
    if not isinstance(machine, str):
        raise InputError(source, place="key 'machine'", expected="a machine's name", found=repr(machine))
    return machine


def read_evidence(table: Mapping[str, Any], source: str, model: Model) -> EvidenceTable:
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
    for key, make in LISTS.items():
        for number, words in enumerate(_texts(table, key, source), start=1):
            matches = resolve(words, model, source, f"{key}[{number}]")
            readings.append(_answers(matches, make, words, place_in(words)))
    for number, entry in enumerate(_tables(table, "finding", source), start=1):
        readings.append(_entry(entry, model, source, f"finding[{number}]"))
    sure = tuple(reading[0] for reading in readings if len(reading) == 1)
    gates, causes = frozenset(_known(table, "done", model.gates, source)), _known(table, "tried", model.causes, source)
    pairs = tuple(_pair(entry, source, f"pairs[{n}]") for n, entry in enumerate(_tables(table, "pairs", source), 1))
    return EvidenceTable(
        machine_named(table, source),
        Evidence(sure, gates, frozenset(causes)),
        tuple(reading for reading in readings if len(reading) > 1),
        pairs,
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
    near = "; ".join(f"{m.finding} ({model.findings[m.finding].says})" for m in matches[:5])
    raise InputError(
        source,
        place=place,
        expected="a finding's id, or words that fit one finding only",
        found=repr(words),
        do=(f"Nearest: {near}." if near else "Nothing comes near.")
        + " `tapewright diagnose --list WORD` finds ids.",
    )


def _entry(entry: Mapping[str, Any], model: Model, source: str, place: str) -> tuple[Answer, ...]:
    allowed = {"is", "answer", "station", "sure", "note", *PLACES}
    for key in entry:
        if key not in allowed:
            raise InputError(source, place=f"{place}.{key}", expected="one of " + ", ".join(sorted(allowed)),
                             found=repr(key))  # fmt: skip
    words = entry.get("is")
    if not isinstance(words, str) or not words.strip():
        raise InputError(source, place=f"{place}.is", expected="a finding's id or words for it", found=repr(words))
    station = entry.get("station", "")
    if station and station not in model.stations:
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


def _pair(entry: Mapping[str, Any], source: str, place: str) -> SentReceived:
    for key in entry:
        if key not in PAIR_KEYS:
            raise InputError(source, place=f"{place}.{key}", expected="one of " + ", ".join(sorted(PAIR_KEYS)),
                             found=repr(key))  # fmt: skip
    for key in ("sent", "received"):
        if not isinstance(entry.get(key), str) or not entry[key]:
            raise InputError(source, place=f"{place}.{key}", expected="text or codes", found=repr(entry.get(key)))
    return SentReceived(entry["sent"], entry["received"], place)


def _texts(table: Mapping[str, Any], key: str, source: str) -> list[str]:
    value = table.get(key, [])
    if isinstance(value, str):
        value = [value]
    if not isinstance(value, list) or not all(isinstance(each, str) and each.strip() for each in value):
        raise InputError(source, place=f"key {key!r}", expected="a list of texts", found=repr(value))
    return value


def _tables(table: Mapping[str, Any], key: str, source: str) -> list[Mapping[str, Any]]:
    value = table.get(key, [])
    if not isinstance(value, list) or not all(isinstance(each, Mapping) for each in value):
        raise InputError(source, place=f"key {key!r}", expected=f"tables [[{key}]]", found=repr(value)[:80])
    return value


def _known(table: Mapping[str, Any], key: str, names: Mapping[str, object], source: str) -> list[str]:
    values = _texts(table, key, source)
    for value in values:
        if value not in names:
            raise InputError(source, place=f"key {key!r}", expected="one of " + ", ".join(names), found=repr(value))
    return values


class TableReader:
    """Reads one table with clear refusals."""

    def __init__(self, source: str, place: str, table: object) -> None:
        if not isinstance(table, Mapping):
            raise InputError(source, place=place, expected="a table", found=repr(table), do="Mend the model file.")
        self.source, self.place, self.table = source, place, table

    def refuse(self, key: str, expected: str, found: object) -> InputError:
        """Return the refusal of one key."""
        place = f"{self.place}.{key}" if key else self.place
        return InputError(self.source, place=place, expected=expected, found=repr(found), do="Mend the model file.")

    def keys(self, required: set[str], allowed: set[str]) -> None:
        """Refuse missing and unknown keys."""
        for key in sorted(required - set(self.table)):
            raise self.refuse("", f"a key {key!r}", sorted(self.table))
        for key in sorted(set(self.table) - required - allowed):
            raise self.refuse(key, "one of " + ", ".join(sorted(required | allowed)), key)

    def text(self, key: str, default: str | None = None) -> str:
        """Return a text."""
        value = self.table.get(key, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.refuse(key, "some text", value)
        return value

    def texts(self, key: str) -> tuple[str, ...]:
        """Return a list of texts."""
        value = self.table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(each, str) and each for each in value):
            raise self.refuse(key, "a list of texts", value)
        return tuple(value)

    def number(self, key: str, default: float | None = None) -> float:
        """Return a number above 0."""
        value = self.table.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value < 1e6:
            raise self.refuse(key, "a number above 0", value)
        return float(value)

    def flag(self, key: str) -> bool:
        """Return true or false."""
        value = self.table.get(key, False)
        if not isinstance(value, bool):
            raise self.refuse(key, "true or false", value)
        return value

    def one_of(self, key: str, words: Iterable[str], default: str | None = None) -> str:
        """Return a text that is one of the words."""
        value, words = self.text(key, default), list(words)
        if value not in words:
            raise self.refuse(key, "one of " + ", ".join(words), value)
        return value

    def known(self, key: str, names: tuple[str, ...], where: Container[str], kind: str) -> tuple[str, ...]:
        """Return names that all lead somewhere."""
        for name in names:
            if name not in where:
                raise self.refuse(key, f"the name of a {kind}", name)
        return names
