"""Words as people at a bench say them: bare stems, words that stand for each other, opposites, slips of the pen."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache

STOP = frozenset((
    "a", "an", "and", "are", "as", "at", "be", "been", "being", "but", "by", "can", "come", "comes", "coming", "could",
    "did", "do", "does", "doing", "every", "for", "from", "get", "gets", "getting", "go", "goes", "going", "had", "has",
    "have", "he", "i", "if", "in", "into", "is", "it", "its", "just", "keep", "keeps", "lot", "makes", "me", "much",
    "my", "of", "on", "one", "only", "or", "our", "out", "quite", "really", "she", "should", "so", "some", "still",
    "take", "takes", "than", "that", "the", "their", "them", "then", "there", "they", "this", "to", "too", "up", "us",
    "very", "was", "way", "we", "were", "what", "when", "whenever", "where", "which", "while", "who", "will", "with",
    "would", "you", "your",
))  # fmt: skip
#: A word is taken for one that is this like it (share of letters in common, as difflib counts), from so many letters.
LIKE, FEWEST_LETTERS, MOST_LETTERS_APART = 0.84, 4, 2
#: Words that would become another word without their ending.
WHOLE = frozenset(("bare", "early", "note", "tape"))
ORDINALS = {"first": "1", "second": "2", "third": "3", "fourth": "4", "fifth": "5"} | {
    f"{n}{end}": n for n, end in zip("12345", ("st", "nd", "rd", "th", "th"), strict=True)
}
NUMBERS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5"}
PARTS = r"element|track|contact|bit|column|key|pin|lever|code ?bar|interposer"
#: "element 4", "track 2", "contact stop" in free words: where it is, not what it is.
PLACE = re.compile(rf"\b({PARTS})s?\s*(?:no\.?|nr\.?|number|#)?\s*([1-5]\b|\d{{2}}\b|stop\b)")
_ORDINAL = re.compile(rf"\b({'|'.join(ORDINALS)})\s+({PARTS})s?\b")
_NUMBER = re.compile(rf"\b({PARTS})s?\s+(?:number\s+)?({'|'.join(NUMBERS)})\b")


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """What words stand for each other.

    Attributes:
        same: stem -> the stem that the findings use.
        near: stem -> stems that stand for it, a little weaker.
        opposite: stem -> stems that deny it.
        idioms: several words -> what stands for them.
    """

    same: Mapping[str, str]
    near: Mapping[str, frozenset[str]]
    opposite: Mapping[str, frozenset[str]]
    idioms: Mapping[str, str]

    def plainly(self, words: str) -> str:
        """Return a text with its idioms in one word."""
        text = said_plainly(words)
        for idiom, word in self.idioms.items():
            text = re.sub(rf"\b{idiom}\b", word, text)
        return text


def vocabulary(
    same: Iterable[Sequence[str]],
    synonyms: Iterable[Sequence[str]],
    opposites: Iterable[Sequence[str]],
    idioms: Iterable[Sequence[str]],
) -> Vocabulary:
    """Return the vocabulary of tables of words."""
    joined, whole = ({word: other for word, other in pairs} for pairs in (same, idioms))  # noqa: C416 (lists of two)
    return Vocabulary(joined, _each_other(synonyms, joined), _each_other(opposites, joined), whole)


def _each_other(groups: Iterable[Sequence[str]], joined: Mapping[str, str]) -> dict[str, frozenset[str]]:
    out: dict[str, frozenset[str]] = {}
    for group in groups:
        stems = [stem(joined.get(word, word)) for word in group]
        for each in stems:
            out[each] = out.get(each, frozenset()) | frozenset(other for other in stems if other != each)
    return out


def said_plainly(words: str) -> str:
    """Return a text in small letters, contractions and numbers of parts written out ("bit three": "bit 3")."""
    text = words.lower().replace("\u2019", "'")
    text = re.sub(r"\b(won't|can't|cannot)\b", "not", text)
    text = re.sub(r"n't\b", " not", text)
    text = re.sub(r"'(s|re|ve|ll|d|m)\b", "", text)
    text = re.sub(r"\bevery (\w+(?:th|nd|rd))\b", "every nth", text)
    text = _ORDINAL.sub(lambda found: f"{found[2]} {ORDINALS[found[1]]}", text)
    return _NUMBER.sub(lambda found: f"{found[1]} {NUMBERS[found[2]]}", text)


def place_in(words: str) -> str:
    """Return "element 4" and the like when the words name a place."""
    found = [f"{kind} {number}" for kind, number in PLACE.findall(said_plainly(words))]
    return ", ".join(dict.fromkeys(text.replace("bit ", "element ") for text in found))


def without_places(words: str) -> str:
    """Return a text without the numbers of parts."""
    return PLACE.sub(r"\1", said_plainly(words))


def normal(words: str) -> str:
    """Return words without case, punctuation and doubled blanks, so that ids and phrases compare."""
    return " ".join(re.findall(r"[a-z0-9/]+", words.lower()))


def tokens(words: str, same: Mapping[str, str] | None = None) -> list[str]:
    """Return the bare words of a text, each once: endings dropped, filler left out."""
    joined = same or {}
    found = re.findall(r"[a-z0-9/]+", said_plainly(words))
    return list(dict.fromkeys(stem(joined.get(word, word)) for word in found if word not in STOP))


@cache
def stem(word: str) -> str:
    """Return a word without the endings of number, time and manner."""
    if word in WHOLE:
        return word
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        word = word[:-3] + "y" if word.endswith("ies") and len(word) > 4 else word[:-1]
    for ending in ("ing", "ed", "ly", "er"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            word = word[: -len(ending)]
            if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "lsz":
                word = word[:-1]
            break
    return word[:-1] if len(word) > 3 and word[-1] in "ey" and word not in WHOLE else word


def spelt_like(word: str, known: Iterable[str]) -> str:
    """Return the known word that this one is probably meant to be, "" when there is none."""
    if len(word) < FEWEST_LETTERS or not word.isalpha():
        return ""
    near = [other for other in known if other[:1] == word[:1] and abs(len(other) - len(word)) <= MOST_LETTERS_APART]
    found = get_close_matches(word, near, n=1, cutoff=LIKE)
    return found[0] if found else ""
