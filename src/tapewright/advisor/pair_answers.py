"""Characters sent and received, as written by a person, as codes; and what their ranking says about findings."""

import re
from collections.abc import Sequence

from tapewright.advisor.code_pairs import PairReading, Ranked, rank_pairs, read_pairs
from tapewright.advisor.evidence import Answer, no, yes
from tapewright.advisor.evidence_table import SentReceived
from tapewright.advisor.measured.fields import weighed
from tapewright.alphabets import ALPHABETS, Function
from tapewright.alphabets.alphabet import SHOWN
from tapewright.errors import InputError
from tapewright.message import align

CODES = re.compile(r"[01]{5}([ ,]+[01]{5})*")
#: Names of keys as people write them.
KEY_NAMES = {"LTRS": "11111", "FIGS": "11011", "CR": "00010", "LF": "01000", "SP": "00100", "SPACE": "00100",
             "BLANK": "00000", "NULL": "00000", "LETTERS": "11111", "FIGURES": "11011"}  # fmt: skip
#: Findings about the whole of the code: ruled out when pairs speak clearly for something else.
WHOLE = ("reads-late", "reads-early", "complement", "reversed-order", "one-character-behind")
FEWEST_WRONG = 2
#: A fixed fault that is sometimes not there is an intermittent one.
SOMETIMES = {"element-lost": "element-drops", "element-stuck": "element-gains"}


def codes_of(text: str, source: str, place: str) -> list[str]:
    """Return the codes of a text: codes, names of keys between blanks, or characters; shifts only where written.

    Raises:
        InputError: when a character is not in the alphabet.
    """
    if CODES.fullmatch(text.strip()):
        return re.findall(r"[01]{5}", text)
    words = text.split()
    if len(words) > 1 and all(len(word) == 1 or word.upper() in KEY_NAMES for word in words):
        return [KEY_NAMES.get(word.upper()) or _code(word, source, place) for word in words]
    if text.strip().upper() in KEY_NAMES:
        return [KEY_NAMES[text.strip().upper()]]
    return [_code(character, source, place) for character in text]


def _code(character: str, source: str, place: str) -> str:
    alphabet = ALPHABETS["ita2"]
    shown = {text: function for function, text in SHOWN.items() if text}
    if character in shown:
        code = alphabet.code_of_function(shown[character])
    elif character == "_":
        code = alphabet.code_of_function(Function.BLANK)
    else:
        code = alphabet.code_of(character.upper(), figures=False) or alphabet.code_of(character, figures=True)
    if code is None:
        raise InputError(source, place=place, expected="characters of the five-unit alphabet, codes such as 10000, or"
                         " names such as LTRS CR BLANK between blanks", found=repr(character))  # fmt: skip
    return code


def coded(pairs: Sequence[SentReceived], source: str) -> tuple[list[tuple[str, str]], int, int]:
    """Return the pairs as codes, and how many characters were lost and how many came too many."""
    out: list[tuple[str, str]] = []
    lost = extra = 0
    for pair in pairs:
        sent = codes_of(pair.sent, source, f"{pair.place}.sent")
        received = codes_of(pair.received, source, f"{pair.place}.received")
        if len(sent) == len(received):
            out += zip(sent, received, strict=True)
            continue
        for column in align(sent, received).pairs:
            if column.sent is None:
                extra += 1
            elif column.received is None:
                lost += 1
            else:
                out.append((column.sent, column.received))
    return out, lost, extra


def answers_from_pairs(pairs: Sequence[SentReceived], source: str) -> tuple[list[Answer], PairReading | None]:
    """Return what the pairs say about findings, and their reading for the report."""
    codes, lost, extra = coded(pairs, source)
    if not codes:
        return [], None
    reading, wrong = read_pairs(codes), sum(sent != received for sent, received in codes)
    how = f"{wrong} of {len(codes)} characters came wrong"
    out = [yes("character-missing", f"{lost} characters lost")] if lost else []
    out += [yes("phantom-characters", f"{extra} characters too many")] if extra > len(codes) / 2 else []
    if not wrong:
        return out, reading
    out += _ranked(rank_pairs(codes), codes, wrong, how)
    out += _elements(codes, wrong, how)
    if wrong >= 0.6 * len(codes) and len(codes) >= 6 and not any(a.state == "present" for a in out):
        out.append(yes("many-errors-all-elements", how))
    return out, reading


def _ranked(ranked: list[Ranked], codes: Sequence[tuple[str, str]], wrong: int, how: str) -> list[Answer]:
    """Add up the probabilities of all suspects that stand for the same finding."""
    chance: dict[str, float] = {}
    leader: dict[str, Ranked] = {}
    for each in ranked:
        for name in each.suspect.findings:
            name = SOMETIMES.get(name, name) if _sometimes(each, codes) else name
            chance[name] = chance.get(name, 0.0) + each.probability
            leader.setdefault(name, each)
    out = []
    for name, p in chance.items():
        best = leader[name].suspect
        at = f"element {best.element}" if best.element else ""
        if p >= 0.15:
            out.append(weighed(name, min(p, 0.999), f"{how}; {best.name} fits ({100 * p:.0f} %)", at=at))
        elif p < 0.01 and name in WHOLE and wrong >= FEWEST_WRONG:
            out.append(no(name, f"{how}; it does not fit"))
    return out


def _sometimes(each: Ranked, codes: Sequence[tuple[str, str]]) -> bool:
    before = "00000"
    for sent, received in codes:
        if sent == received and each.suspect.rule(sent, before) != received:
            return True
        before = sent
    return False


def _elements(codes: Sequence[tuple[str, str]], wrong: int, how: str) -> list[Answer]:
    changed = [{n for n in range(5) if sent[n] != received[n]} for sent, received in codes if sent != received]
    common = set.intersection(*changed)
    if wrong >= FEWEST_WRONG and all(len(places) == 1 for places in changed) and len(common) == 1:
        return [yes("same-element-all-characters", how, f"element {common.pop() + 1}")]
    right = {sent for sent, received in codes if sent == received}
    if {"01010", "10101"} <= right:
        return [yes("ry-right-others-wrong", f"{how}, R and Y right")]
    return []
