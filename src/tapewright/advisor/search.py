"""Find a finding by the words somebody uses for it, and say how they were taken.

    words --plain--> stems, each for itself, for a synonym, or for the word it is spelt like
          --fit----> how much of the words a finding's texts hold, and how near its best phrase comes
          --doubt--> the opposite word, or a denial that the finding does not have: never taken unasked

Words that may mean a few findings are taken as the one that makes all evidence together most likely; it is told.
"""

import math
import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from tapewright.advisor.belief import infer
from tapewright.advisor.evidence import Answer, likelihoods, settle
from tapewright.advisor.machine_model import Finding, Model
from tapewright.advisor.one_observation import as_one_observation
from tapewright.advisor.vocabulary import Vocabulary, normal, place_in, spelt_like, tokens, without_places

__all__ = ["Match", "either", "find", "is_known", "pair_in", "place_in", "settle_unclear", "surely"]

#: A match must reach this share of the query's weight, and beat the next by this factor, to be taken unasked.
ENOUGH, CLEARLY = 0.62, 1.2
#: What a finding that is not of the station named counts; one that no cause of this machine shows.
AT_ANOTHER_STATION, NOT_SHOWN_HERE = 0.7, 0.6
#: What a synonym counts, and a word by what it is spelt like; what a word counts that stands in no finding.
SYNONYM, SPELT_LIKE, UNKNOWN = 0.85, 0.9, 0.6
#: What a finding counts that holds the opposite of a word, or that is not denied where the words deny.
OPPOSITE, OTHERWISE_DENIED = 0.45, 0.7
#: Words that may mean more findings than this are not taken at all; so many are offered when none is taken.
MOST_READINGS, MOST_CHOICES = 4, 8
#: What the nearest known phrase counts beside the share of words held anywhere in the finding's text.
PHRASE_SHARE = 0.4
NOT = "not"
#: Words whose order matters: "before" and "after" change places with what stands beside them.
ORDERED = frozenset(("as", "before", "after", "than", "from", "into", "for"))


@dataclass(frozen=True, slots=True)
class Match:
    """A finding that words may mean, with how well they fit (1 = all of them).

    `denied` is True when the words say that the finding is NOT so; `opposite` when they hold the opposite of one of its
    words, or deny what it does not: then it is only offered.
    """

    finding: str
    fit: float
    denied: bool = False
    opposite: bool = False


def find(words: str, model: Model, *, station: str = "") -> list[Match]:
    """Return the findings `words` may mean, best first; an exact id or known phrase stands alone.

    Args:
        words: an id, or free words.
        model: whose findings are searched.
        station: only findings of this station, when given.
    """
    if words.strip() in model.findings:
        return [Match(words.strip(), 1.0)]
    index = _index(model)
    names = _of_station(model, station) if station else set(model.findings)
    plain = without_places(model.vocabulary.plainly(words))
    query = tokens(re.sub(r"\b\d+\b", " ", plain), index.same) or tokens(model.vocabulary.plainly(words), index.same)
    ordered = bool(ORDERED & set(plain.split()))
    for phrases, key in ((index.exact, normal(words)), (index.exact, normal(plain)), (index.bare, _bare(query))):
        exact = [match for match in phrases.get(key, ()) if match.finding in names]
        if phrases is index.bare and ordered:
            exact = []
        if exact and (not station or model.findings[exact[0].finding].condition_of == station):
            return exact
    asked = [_Asked.of(word, index) for word in query]
    matches = [_match(asked, index, name) for name in names] if query else []
    matches = [m if m.finding in index.shown else _weaker(m, NOT_SHOWN_HERE) for m in matches]
    if station:
        matches = [
            m if model.findings[m.finding].condition_of == station else _weaker(m, AT_ANOTHER_STATION) for m in matches
        ]
    return sorted((m for m in matches if m.fit > 0.2), key=lambda m: (-m.fit, m.finding))


def is_known(words: str, model: Model) -> bool:
    """Return whether words are an id or a known phrase."""
    return words.strip() in model.findings or normal(words) in _index(model).exact


def _weaker(match: Match, factor: float) -> Match:
    return replace(match, fit=factor * match.fit)


def surely(matches: list[Match]) -> Match | None:
    """Return the match when there is no doubt which finding is meant."""
    if not matches or matches[0].fit < ENOUGH or matches[0].opposite:
        return None
    if len(matches) > 1 and matches[0].fit < CLEARLY * matches[1].fit:
        return None
    return matches[0]


def either(matches: list[Match]) -> list[Match]:
    """Return the few findings the words may mean, when they fit well but not one alone; empty when they fit badly."""
    if not matches or matches[0].fit < ENOUGH or matches[0].opposite:
        return []
    return [m for m in matches[:MOST_READINGS] if matches[0].fit < CLEARLY * m.fit and not m.opposite]


@dataclass(frozen=True, slots=True)
class _Asked:
    """One word of the query: what it weighs, and what it may stand for with how much each counts."""

    weight: float
    stands_for: Mapping[str, float]
    opposites: frozenset[str]

    @classmethod
    def of(cls, word: str, index: "_Index") -> "_Asked":
        meant, counts = word, 1.0
        if word not in index.rarity and not index.near.get(word) and (like := spelt_like(word, index.known)):
            meant, counts = like, SPELT_LIKE
        stands_for = dict.fromkeys(index.near.get(meant, ()), counts * SYNONYM) | {meant: counts}
        known = [index.rarity[each] for each in stands_for if each in index.rarity]
        weight = index.rarity.get(meant, max(known, default=UNKNOWN * index.rarest))
        return cls(weight, stands_for, index.opposite.get(meant, frozenset()))

    def found_in(self, texts: Mapping[str, float]) -> float:
        return max((counts * texts.get(word, 0.0) for word, counts in self.stands_for.items()), default=0.0)


@dataclass(frozen=True, slots=True)
class _Index:
    exact: Mapping[str, list[Match]]
    bare: Mapping[str, list[Match]]
    texts: Mapping[str, Mapping[str, float]]
    phrases: Mapping[str, list[list[str]]]
    rarity: Mapping[str, float]
    shown: frozenset[str]
    rarest: float
    known: tuple[str, ...]
    same: Mapping[str, str]
    near: Mapping[str, frozenset[str]]
    opposite: Mapping[str, frozenset[str]]


def _bare(words: Iterable[str]) -> str:
    return " ".join(sorted(words))


@lru_cache(maxsize=8)
def _index(model: Model) -> _Index:
    findings, words = tuple(model.findings.values()), model.vocabulary
    exact: dict[str, list[Match]] = {}
    bare: dict[str, list[Match]] = {}
    for finding in findings:
        known = [(text, False) for text in (finding.name, finding.says, finding.ask, *finding.words)]
        known += [(text, True) for text in finding.denied_by]
        for phrases, key_of in ((exact, normal), (bare, lambda text: _bare(tokens(words.plainly(text), words.same)))):
            for phrase, denied in {(key_of(text), denied) for text, denied in known}:
                phrases.setdefault(phrase, []).append(Match(finding.name, 1.0, denied))
    texts = {finding.name: _weighted(finding, words) for finding in findings}
    seen = Counter(token for text in texts.values() for token in text)
    rarity = {token: math.log(1 + len(findings) / count) for token, count in seen.items()}
    by_finding = {
        f.name: [tokens(words.plainly(text), words.same) for text in (f.name, f.says, *f.words)] for f in findings
    }
    shown = frozenset(name for cause in model.causes.values() for name in cause.shows)
    return _Index(
        exact,
        bare,
        texts,
        by_finding,
        rarity,
        shown,
        max(rarity.values(), default=1.0),
        tuple(sorted({*rarity, *words.near})),
        words.same,
        words.near,
        words.opposite,
    )


def _weighted(finding: Finding, words: Vocabulary) -> dict[str, float]:
    """Return what each word counts: most in the name and the known phrases, less in question and explanation."""
    out: dict[str, float] = {}
    parts: Iterable[tuple[float, str]] = (
        *((1.0, text) for text in (finding.name, finding.says, *finding.words)),
        (0.9, finding.ask),
        (0.6, finding.seen),
        (0.5, finding.condition_of),
    )
    for weight, text in parts:
        for token in tokens(words.plainly(text), words.same):
            out[token] = max(out.get(token, 0.0), weight)
    return out


def _match(asked: Sequence[_Asked], index: _Index, name: str) -> Match:
    """Return how well a finding fits: how much of the query it holds, and how near its best phrase comes."""
    text = index.texts[name]
    found = [word.found_in(text) for word in asked]
    if not any(found):
        return Match(name, 0.0)
    total = sum(word.weight for word in asked)
    held = sum(word.weight * share for word, share in zip(asked, found, strict=True)) / total
    fit = (1.0 - PHRASE_SHARE) * held + PHRASE_SHARE * max(_near(asked, each, index) for each in index.phrases[name])
    against = any(not share and word.opposites & set(text) for word, share in zip(asked, found, strict=True))
    denies = any(NOT in word.stands_for for word in asked) and NOT not in text and "no" not in text
    fit *= (OPPOSITE if against else 1.0) * (OTHERWISE_DENIED if denies else 1.0)
    return Match(name, fit, opposite=against or denies)


def _near(asked: Sequence[_Asked], phrase: list[str], index: _Index) -> float:
    """Return twice the common weight over the weight of both (1 = the same words)."""
    words = dict.fromkeys(phrase, 1.0)
    shared = sum(word.weight * word.found_in(words) for word in asked)
    if not shared:
        return 0.0
    both = sum(word.weight for word in asked) + sum(index.rarity.get(token, index.rarest) for token in phrase)
    return min(1.0, 2.0 * shared / both)


def _of_station(model: Model, station: str) -> set[str]:
    own = {name for name, finding in model.findings.items() if finding.condition_of == station}
    for cause in model.causes.values():
        if cause.station == station:
            own |= {name for name, strength in cause.shows.items() if strength > 0.5}
    return own


_WHAT = r"(?:the )?(?:letters?|keys?|characters?|codes?)?\s*['\"]?([A-Za-z0-9]{1,10}?)(?:'s|s)?['\"]?"
_CAME = r"(?:is |are )?(?:comes?|came|prints?|printed|receiv\w*|arriv\w+|reads?|punch\w*|types?|typed)"
#: ways to say that one character was sent and another came; the groups are sent, came; or came, sent
_PAIRS = (
    (re.compile(rf"{_WHAT} {_CAME}(?: out)?(?: as| like)(?: an?)? {_WHAT}", re.I), False),
    (re.compile(rf"{_WHAT} (?:gives|becomes|turns into) (?:an? )?{_WHAT}", re.I), False),
    (re.compile(rf"(?:i )?(?:send|sent|type|typed|press|pressed) (?:an? )?{_WHAT}(?: and|,)? (?:i )?(?:gets?|got|comes|"
                rf"receive|received) (?:an? )?{_WHAT}", re.I), False),
    (re.compile(rf"{_WHAT} sent,? (?:and )?{_WHAT} (?:received|came|comes|printed)", re.I), False),
    (re.compile(rf"(?:it )?(?:{_CAME} )?(?:an? )?{_WHAT} (?:{_CAME} )?(?:instead of|in place of|for) (?:an? )?{_WHAT}",
                re.I), True),
    (re.compile(rf"{_WHAT} {_CAME} (?:where|when) (?:an? )?{_WHAT} (?:was|is) (?:sent|typed|pressed|struck)",
                re.I), True),
)  # fmt: skip


def pair_in(words: str) -> tuple[str, str] | None:
    """Return (sent, received) when the words say that one character came as another, None when they say no such thing.

    Only what cannot be a word is taken for characters: one letter or figure, or two groups of the same length of which
    neither has a small letter.
    """
    for pattern, turned in _PAIRS:
        found = pattern.fullmatch(words.strip().rstrip("."))
        if found:
            sent, came = (found[2], found[1]) if turned else (found[1], found[2])
            if len(sent) == len(came) and (len(sent) == 1 or (sent + came).isupper()) and sent.upper() != came.upper():
                return sent.upper(), came.upper()
    return None


#: What stands before the other readings in the evidence's own words.
UNCLEAR = "could also mean"


def settle_unclear(model: Model, answers: Sequence[Answer], unclear: Sequence[Sequence[Answer]]) -> tuple[Answer, ...]:
    """Return the answers with each unclear one settled, in the order they were said.

    Raises:
        ValueError: when the evidence cannot have happened.
    """
    known, network = list(answers), model.network()

    def likely(reading: Answer) -> float:
        settled = settle([*known, reading])
        return infer(as_one_observation(model, network, settled), likelihoods(model, settled)).log_evidence

    for readings in unclear:
        best = max(readings, key=likely)
        others = ", ".join(each.finding for each in readings if each.finding != best.finding)
        known.append(replace(best, how=f"{best.how}; {UNCLEAR} {others}"))
    return tuple(known)
