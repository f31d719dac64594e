r"""Which transformation turns the characters sent into those received: every one that fits, ranked.

A suspect is a rule that foretells the received code from the sent one (and the code before it). How well it
fits n pairs, when it acts in a share r of the characters (all of them, half, or one in five, equally likely):

    P(received | sent) = r [received = foretold] + (1-r) [received = sent],  a slip of the pen in 2 of 100,
                         spread over the 32 codes

    weight = prior x average over r of the product over all pairs                  (Bayes; ours)

Suspects that foretell the same for every character seen so far cannot be told apart by them; the character
on which they differ most is named, so that the next keystroke decides.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.core.alphabets.alphabet import complement, reversed_order
from tapewright.core.comparison.kinds import both_or, sampled_early, sampled_late

#: sent, previous code sent -> received
Rule = Callable[[str, str], str]

SHARES = (1.0, 0.5, 0.2)
SLIP = 0.02
BLANK = "00000"
ALL_CODES = tuple(format(number, "05b") for number in range(32))


@dataclass(frozen=True, slots=True)
class Suspect:
    """A transformation.

    Attributes:
        name: in words.
        rule: what it makes of a code.
        prior: how common it is; only ratios count (common practice, no source).
        findings: findings it is evidence for.
        element: the element it concerns, 0 when all.
    """

    name: str
    rule: Rule
    prior: float
    findings: tuple[str, ...]
    element: int = 0


@dataclass(frozen=True, slots=True)
class Ranked:
    """A suspect with its probability among all suspects, and the pairs it foretells."""

    suspect: Suspect
    probability: float
    explains: int
    wrong: int


@dataclass(frozen=True, slots=True)
class PairReading:
    """What pairs of characters say.

    Attributes:
        ranked: suspects worth naming, most probable first.
        decide: code to send next that best tells the leading suspects apart; "" when nothing is left to tell.
        then: what each leading suspect would make of it.
    """

    ranked: tuple[Ranked, ...]
    decide: str
    then: tuple[tuple[str, str], ...]


def _with_element(code: str, element: int, value: str) -> str:
    return code[: element - 1] + value + code[element:]


def _fixed(element: int, value: str) -> Rule:
    return lambda sent, before: _with_element(sent, element, value)


def _takes(element: int, step: int) -> Rule:
    """Element takes the value of its neighbour: +1 the one after (stop is mark), -1 the one before (start is space)."""

    def rule(sent: str, before: str) -> str:
        around = "0" + sent + "1"
        return _with_element(sent, element, around[element + step])

    return rule


def _keeps(element: int) -> Rule:
    return lambda sent, before: _with_element(sent, element, before[element - 1])


def _keeps_mark(element: int) -> Rule:
    return lambda sent, before: _with_element(sent, element, "1" if before[element - 1] == "1" else sent[element - 1])


def _keeps_space(element: int) -> Rule:
    return lambda sent, before: _with_element(sent, element, "0" if before[element - 1] == "0" else sent[element - 1])


def _needs_neighbour(element: int, other: int, other_value: str, becomes: str) -> Rule:
    def rule(sent: str, before: str) -> str:
        return _with_element(sent, element, becomes) if sent[other - 1] == other_value else sent

    return rule


def _both_and(sent: str, before: str) -> str:
    return "".join("1" if pair == ("1", "1") else "0" for pair in zip(sent, before, strict=True))


def _isolated(value: str) -> Rule:
    """A mark (or space) that stands alone among the five is lost.

    Start and stop are left out of it: T (element 5 before the stop) and V (element 1 after the start) belong to the
    characters that fail first (common practice, no source).
    """
    other = "0" if value == "1" else "1"

    def rule(sent: str, before: str) -> str:
        around = other + sent + other
        alone = [n for n in range(1, 6) if around[n] == value and around[n - 1] == other == around[n + 1]]
        return "".join(other if n in alone else sent[n - 1] for n in range(1, 6))

    return rule


def _whole(turn: Callable[[str], str]) -> Rule:
    return lambda sent, before: turn(sent)


def _tail_takes(first: int, step: int) -> Rule:
    """Elements from `first` on take their neighbour's value: speed off, the end of the character suffers first."""

    def rule(sent: str, before: str) -> str:
        around = "0" + sent + "1"
        return sent[: first - 1] + "".join(around[n + step] for n in range(first, 6))

    return rule


def suspects() -> list[Suspect]:
    """Give every transformation known, as a table."""
    every = range(1, 6)
    table = [
        Suspect("every element read one late", _whole(sampled_late), 2, ("reads-late",)),
        Suspect("every element read one early", _whole(sampled_early), 2, ("reads-early",)),
        Suspect("mark and space exchanged", _whole(complement), 2, ("complement",)),
        Suspect("element order reversed", _whole(reversed_order), 2, ("reversed-order",)),
        Suspect("order reversed, mark and space exchanged", _whole(lambda c: complement(reversed_order(c))), 0.5,
                ("complement", "reversed-order")),
        Suspect("marks of the character before are left over", both_or, 1.5, ("or-with-previous",)),
        Suspect("only marks that the character before had too", _both_and, 0.3, ("depends-on-previous",)),
        Suspect("everything comes one character late", lambda sent, before: before, 1, ("one-character-behind",)),
        Suspect("marks that stand alone are lost", _isolated("1"), 2, ("isolated-marks-lost",)),
        Suspect("spaces that stand alone are filled", _isolated("0"), 2, ("isolated-spaces-lost",)),
        Suspect("every code comes as blank", _whole(lambda c: BLANK), 1, ("everything-blank",)),
        Suspect("every code comes as letters shift", _whole(lambda c: "11111"), 1, ("everything-letters",)),
        Suspect("element 5 stays mark, all others space", _whole(lambda c: "00001"), 0.5, ("nearly-only-t",)),
    ]  # fmt: skip
    for k in every:
        table += [
            Suspect(f"element {k} never comes as mark", _fixed(k, "0"), 2, ("element-lost",), k),
            Suspect(f"element {k} always comes as mark", _fixed(k, "1"), 2, ("element-stuck",), k),
            Suspect(f"element {k} keeps what it was", _keeps(k), 0.6, ("depends-on-previous",), k),
            Suspect(f"element {k} keeps a mark too long", _keeps_mark(k), 0.6, ("depends-on-previous",), k),
            Suspect(f"element {k} is slow to become mark", _keeps_space(k), 0.6, ("depends-on-previous",), k),
            Suspect(f"element {k} takes the value after it", _takes(k, 1), 0.4, ("one-element-displaced",), k),
            Suspect(f"element {k} takes the value before it", _takes(k, -1), 0.4, ("one-element-displaced",), k),
        ]
    for first in (4, 5):
        table += [
            Suspect(f"elements {first} to 5 read one late", _tail_takes(first, 1), 1, ("last-elements-first",), 0),
            Suspect(f"elements {first} to 5 read one early", _tail_takes(first, -1), 1, ("last-elements-first",), 0),
        ]
    for k in every:
        for other in (n for n in (k - 1, k + 1) if 1 <= n <= 5):
            for value, name in (("1", "mark"), ("0", "space")):
                table += [
                    Suspect(f"element {k} is lost when element {other} is {name}",
                            _needs_neighbour(k, other, value, "0"), 0.3, ("fails-with-neighbour",), k),
                    Suspect(f"element {k} is false mark when element {other} is {name}",
                            _needs_neighbour(k, other, value, "1"), 0.3, ("fails-with-neighbour",), k),
                ]  # fmt: skip
    return table


SUSPECTS: tuple[Suspect, ...] = tuple(suspects())


def rank_pairs(pairs: Sequence[tuple[str, str]], *, before: Iterable[str] | None = None) -> list[Ranked]:
    """Rank all suspects by the pairs (sent, received); codes as "11000", element 1 first.

    Args:
        pairs: in the order they were sent.
        before: for each pair the code sent before it; taken from the pairs themselves when not given.
    """
    previous = list(before) if before is not None else [BLANK, *(sent for sent, _ in pairs[:-1])]
    logs = np.array([_log_weight(suspect, pairs, previous) for suspect in SUSPECTS])
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    wrong = sum(sent != received for sent, received in pairs)
    out = []
    for suspect, p in zip(SUSPECTS, weights.tolist(), strict=True):
        triples = zip(pairs, previous, strict=True)
        explained = sum(sent != received and suspect.rule(sent, old) == received for (sent, received), old in triples)
        out.append(Ranked(suspect, p, explained, wrong))
    return sorted(out, key=lambda each: -each.probability)


def _log_weight(suspect: Suspect, pairs: Sequence[tuple[str, str]], previous: Sequence[str]) -> float:
    by_share = []
    for share in SHARES:
        log = 0.0
        for (sent, received), old in zip(pairs, previous, strict=True):
            p = share * (suspect.rule(sent, old) == received) + (1.0 - share) * (sent == received)
            log += math.log((1.0 - SLIP) * p + SLIP / 32)
        by_share.append(log)
    top = max(by_share)
    return math.log(suspect.prior) + top + math.log(sum(math.exp(log - top) for log in by_share) / len(by_share))


def read_pairs(pairs: Sequence[tuple[str, str]], *, most: int = 6) -> PairReading:
    """Rank, keep what is worth naming, and say which character would decide next."""
    ranked = rank_pairs(pairs)
    if not any(sent != received for sent, received in pairs):
        return PairReading((), "", ())
    named = [each for each in ranked if each.probability >= 0.02 and each.explains][:most]
    last = pairs[-1][0]
    code, bits = max(((c, _bits(named, c, last)) for c in ALL_CODES), key=lambda each: each[1])
    if len(named) < 2 or bits < 0.05:
        return PairReading(tuple(named), "", ())
    return PairReading(tuple(named), code, tuple((r.suspect.name, r.suspect.rule(code, last)) for r in named))


def _bits(named: Sequence[Ranked], code: str, last: str) -> float:
    """Expected information of sending `code` next about which suspect it is."""
    total = sum(each.probability for each in named) or 1.0
    shares: dict[str, float] = {}
    for each in named:
        foretold = each.suspect.rule(code, last)
        shares[foretold] = shares.get(foretold, 0.0) + each.probability / total
    return -sum(p * math.log2(p) for p in shares.values() if p > 0)
