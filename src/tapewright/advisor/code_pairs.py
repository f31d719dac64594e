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
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.advisor.code_suspects import BLANK, NONE_FITS, SUSPECTS, Suspect

SHARES = (1.0, 0.5, 0.2)
SLIP = 0.02
ALL_CODES = tuple(format(number, "05b") for number in range(32))


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


def rank_pairs(pairs: Sequence[tuple[str, str]], *, before: Iterable[str] | None = None) -> list[Ranked]:
    """Rank all suspects by the pairs (sent, received); codes as "11000", element 1 first.

    Args:
        pairs: in the order they were sent.
        before: for each pair the code sent before it; taken from the pairs themselves when not given.
    """
    previous = list(before) if before is not None else [BLANK, *(sent for sent, _ in pairs[:-1])]
    logs = np.array([*(_log_weight(suspect, pairs, previous) for suspect in SUSPECTS), _log_of_none(pairs)])
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    wrong = sum(sent != received for sent, received in pairs)
    out = []
    for suspect, p in zip((*SUSPECTS, NONE_FITS), weights.tolist(), strict=True):
        triples = zip(pairs, previous, strict=True)
        explained = sum(sent != received and suspect.rule(sent, old) == received for (sent, received), old in triples)
        out.append(Ranked(suspect, p, explained, wrong))
    return sorted(out, key=lambda each: -each.probability)


def _log_of_none(pairs: Sequence[tuple[str, str]]) -> float:
    """Return the weight of a transformation that nobody thought of: what is wrong may come as any other code."""
    shares = [
        sum(math.log(share / 31 if sent != received else 1.0 - share + share / 32) for sent, received in pairs)
        for share in (0.9, 0.5, 0.2)
    ]
    top = max(shares)
    return math.log(NONE_FITS.prior) + top + math.log(sum(math.exp(log - top) for log in shares) / len(shares))


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
    worth_naming = (each for each in ranked if each.explains or each.suspect is NONE_FITS)
    named = [each for each in worth_naming if each.probability >= 0.02][:most]
    last = pairs[-1][0]
    known = [each for each in named if each.suspect is not NONE_FITS]
    code, bits = max(((c, _bits(known, c, last)) for c in ALL_CODES), key=lambda each: each[1])
    if len(known) < 2 or bits < 0.05:
        return PairReading(tuple(named), "", ())
    return PairReading(tuple(named), code, tuple((r.suspect.name, r.suspect.rule(code, last)) for r in known))


def _bits(named: Sequence[Ranked], code: str, last: str) -> float:
    """Expected information of sending `code` next about which suspect it is."""
    total = sum(each.probability for each in named) or 1.0
    shares: dict[str, float] = {}
    for each in named:
        foretold = each.suspect.rule(code, last)
        shares[foretold] = shares.get(foretold, 0.0) + each.probability / total
    return -sum(p * math.log2(p) for p in shares.values() if p > 0)
