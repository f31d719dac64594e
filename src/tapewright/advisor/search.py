"""Find a finding by the words somebody uses for it.

Words that may mean a few findings are taken as the one that makes all evidence together most likely; it is said.
"""

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from tapewright.advisor.belief import infer
from tapewright.advisor.evidence import Answer, likelihoods, settle
from tapewright.advisor.machine_model import Finding, Model

#: Words that mean the same here. Left: as people write; right: as the findings say it.
SAME = {
    "bit": "element", "bits": "element", "pulse": "element", "char": "character", "chars": "character",
    "letter": "character", "printer": "print", "printout": "print", "gummy": "gum", "gummed": "gum", "sticky": "stick",
    "stuck": "stick", "sticks": "stick", "sticking": "stick", "warmed": "warm", "warms": "warm", "typed": "type",
    "broken": "break", "breaks": "break", "tears": "tear", "torn": "tear", "lost": "lose", "loses": "lose",
    "losing": "lose", "missing": "miss", "misses": "miss", "bars": "bar", "ltrs": "letter", "idle": "pause",
    "irregular": "uneven", "tt": "t", "cr": "return", "lf": "feed", "magnet": "armature", "relay": "armature",
    "garbage": "garble", "garbled": "garble", "gibberish": "garble", "mangled": "garble", "begins": "start",
    "starts": "start", "starting": "start", "wheel": "wheel", "rings": "ring", "early": "early",
}  # fmt: skip
STOP = frozenset((
    "a", "an", "and", "are", "as", "at", "be", "by", "but", "comes", "do", "does", "for", "from", "goes", "has",
    "have", "i", "in", "is", "it", "its", "much", "of", "on", "one", "only", "or", "so", "that", "the", "them", "then",
    "there", "this", "to", "too", "up", "very", "was", "what", "when", "which", "while", "with", "you", "your",
))  # fmt: skip
#: A match must reach this share of the query's weight, and beat the next by this factor, to be taken unasked.
ENOUGH, CLEARLY = 0.62, 1.2
#: What a finding that is not of the station named counts.
AT_ANOTHER_STATION = 0.7
#: Words that may mean more findings than this are not taken at all.
MOST_READINGS = 4
#: What the nearest known phrase counts beside the share of words held anywhere in the finding's text.
PHRASE_SHARE = 0.4

#: "element 4", "track 2", "contact stop" in free words: where it is, not what it is.
PLACE = re.compile(
    r"\b(element|track|contact|bit|column|key|pin|lever|code ?bar|interposer)s?\s*(?:no\.?|nr\.?|#)?"
    r"\s*([1-5]\b|\d{2}\b|stop\b)"
)


@dataclass(frozen=True, slots=True)
class Match:
    """A finding that words may mean, with how well they fit (1 = all of them).

    `denied` is True when the words say that the finding is NOT so.
    """

    finding: str
    fit: float
    denied: bool = False


def find(words: str, model: Model, *, station: str = "") -> list[Match]:
    """Return the findings `words` may mean, best first; an exact id or known phrase stands alone.

    Args:
        words: an id, or free words.
        model: whose findings are searched.
        station: only findings of this station, when given.
    """
    if words.strip() in model.findings:
        return [Match(words.strip(), 1.0)]
    plain = normal(words)
    index = _index(model)
    names = _of_station(model, station) if station else set(model.findings)
    without_numbers = normal(PLACE.sub(r"\1", words.lower()))
    for phrase in (plain, without_numbers):
        exact = [match for match in index.exact.get(phrase, ()) if match.finding in names]
        if exact and (not station or model.findings[exact[0].finding].condition_of == station):
            return exact
    query = tokens(PLACE.sub(" ", words.lower())) or tokens(words)
    matches = [Match(name, _fit(query, index, name)) for name in names] if query else []
    # what no cause of this machine shows is hardly meant
    matches = [m if m.finding in index.shown else Match(m.finding, 0.6 * m.fit) for m in matches]
    if station:
        matches = [m if model.findings[m.finding].condition_of == station else _weaker(m) for m in matches]
    return sorted((m for m in matches if m.fit > 0.2), key=lambda m: (-m.fit, m.finding))


def _weaker(match: Match) -> Match:
    """What the station only shows elsewhere is meant less often than what is found at it."""
    return Match(match.finding, AT_ANOTHER_STATION * match.fit, match.denied)


def surely(matches: list[Match]) -> Match | None:
    """Return the match when there is no doubt which finding is meant."""
    if not matches or matches[0].fit < ENOUGH:
        return None
    if len(matches) > 1 and matches[0].fit < CLEARLY * matches[1].fit:
        return None
    return matches[0]


def either(matches: list[Match]) -> list[Match]:
    """Return the few findings the words may mean, when they fit well but not one alone; empty when they fit badly."""
    if not matches or matches[0].fit < ENOUGH:
        return []
    return [match for match in matches[:MOST_READINGS] if matches[0].fit < CLEARLY * match.fit]


def place_in(words: str) -> str:
    """Return "element 4" and the like when the words name a place."""
    found = [f"{kind} {number}" for kind, number in PLACE.findall(words.lower())]
    return ", ".join(dict.fromkeys(text.replace("bit ", "element ") for text in found))


def normal(words: str) -> str:
    """Return words without case, punctuation and doubled blanks, so that ids and phrases compare."""
    return " ".join(re.findall(r"[a-z0-9/]+", words.lower()))


def tokens(words: str) -> list[str]:
    """Split in bare words: synonyms joined, endings dropped, filler left out."""
    out = []
    for word in re.findall(r"[a-z0-9/]+", words.lower()):
        word = SAME.get(word, word)
        if word in STOP:
            continue
        out.append(_stem(word))
    return list(dict.fromkeys(out))


def _stem(word: str) -> str:
    for ending in ("ings", "ing", "ies", "ed", "es", "s", "ly"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word


@dataclass(frozen=True, slots=True)
class _Index:
    exact: dict[str, list[Match]]
    texts: dict[str, dict[str, float]]
    phrases: dict[str, list[list[str]]]
    rarity: dict[str, float]
    shown: frozenset[str]
    rarest: float

    def weight(self, token: str) -> float:
        return self.rarity.get(token, self.rarest)


@lru_cache(maxsize=8)
def _index(model: Model) -> _Index:
    findings = tuple(model.findings.values())
    exact: dict[str, list[Match]] = {}
    texts: dict[str, dict[str, float]] = {}
    for finding in findings:
        for phrase in dict.fromkeys(normal(text) for text in (finding.name, finding.says, finding.ask, *finding.words)):
            exact.setdefault(phrase, []).append(Match(finding.name, 1.0))
        for phrase in dict.fromkeys(normal(text) for text in finding.denied_by):
            exact.setdefault(phrase, []).append(Match(finding.name, 1.0, denied=True))
        texts[finding.name] = _weighted(finding)
    seen = Counter(token for text in texts.values() for token in text)
    rarity = {token: math.log(1 + len(findings) / count) for token, count in seen.items()}
    phrases = {f.name: [tokens(text) for text in (f.name, f.says, *f.words)] for f in findings}
    shown = frozenset(name for cause in model.causes.values() for name in cause.shows)
    return _Index(exact, texts, phrases, rarity, shown, max(rarity.values(), default=1.0))


def _weighted(finding: Finding) -> dict[str, float]:
    """What a word counts: most in the name and the known phrases, less in question and explanation."""
    out: dict[str, float] = {}
    parts: Iterable[tuple[float, str]] = (
        (1.0, finding.name), (1.0, finding.says), *((1.0, phrase) for phrase in finding.words),
        (0.9, finding.ask), (0.6, finding.seen), (0.5, finding.condition_of),
    )  # fmt: skip
    for weight, text in parts:
        for token in tokens(text):
            out[token] = max(out.get(token, 0.0), weight)
    return out


def _fit(query: list[str], index: _Index, name: str) -> float:
    """How much of the query the finding's text holds, and how near its best phrase comes, both weighed by rarity."""
    text = index.texts[name]
    if not any(token in text for token in query):
        return 0.0
    total = sum(index.weight(token) for token in query)
    held = sum(index.weight(token) * text.get(token, 0.0) for token in query) / total
    nearest = max(_near(query, phrase, index) for phrase in index.phrases[name])
    return (1.0 - PHRASE_SHARE) * held + PHRASE_SHARE * nearest


def _near(query: list[str], phrase: list[str], index: _Index) -> float:
    """Twice the common weight over the weight of both (1 = the same words)."""
    shared = [token for token in phrase if token in query]
    if not shared:
        return 0.0
    both = sum(index.weight(token) for token in (*query, *phrase))
    return 2.0 * sum(index.weight(token) for token in shared) / both


def _of_station(model: Model, station: str) -> set[str]:
    own = {name for name, finding in model.findings.items() if finding.condition_of == station}
    for cause in model.causes.values():
        if cause.station == station:
            own |= {name for name, strength in cause.shows.items() if strength > 0.5}
    return own


#: What stands before the other readings in the evidence's own words.
UNCLEAR = "could also mean"


def settle_unclear(model: Model, answers: Sequence[Answer], unclear: Sequence[Sequence[Answer]]) -> tuple[Answer, ...]:
    """Return the answers with each unclear one settled, in the order they were said.

    Raises:
        ValueError: when the evidence cannot have happened.
    """
    known, network = list(answers), model.network()

    def likely(reading: Answer) -> float:
        return infer(network, likelihoods(model, settle([*known, reading]))).log_evidence

    for readings in unclear:
        best = max(readings, key=likely)
        others = ", ".join(each.finding for each in readings if each.finding != best.finding)
        known.append(replace(best, how=f"{best.how}; {UNCLEAR} {others}"))
    return tuple(known)
