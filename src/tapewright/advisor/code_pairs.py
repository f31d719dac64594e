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
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tapewright.advisor.code_suspects import BLANK, NONE_FITS, SUSPECTS, Suspect
from tapewright.advisor.network import BoolArray, FloatArray

SHARES = (1.0, 0.5, 0.2)
#: The same for what nobody thought of, which may by chance leave a code as it is.
SHARES_OF_NONE = (0.9, 0.5, 0.2)
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
    counts = Counter((sent, received, old) for (sent, received), old in zip(pairs, previous, strict=True))
    times = np.array(list(counts.values()), dtype=np.float64)
    right = np.array([sent == received for sent, received, _ in counts])
    foretold = np.array([[each.rule(sent, old) == received for sent, received, old in counts] for each in SUSPECTS])
    logs = np.array([*(_log_weight(each, row, right, times) for each, row in zip(SUSPECTS, foretold, strict=True)),
                     _log_of_none(right, times)])  # fmt: skip
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    explained = [int(times @ (row & ~right)) for row in foretold]
    wrong = int(times @ ~right)
    found = zip((*SUSPECTS, NONE_FITS), weights.tolist(), (*explained, 0), strict=True)
    return sorted((Ranked(each, p, n, wrong) for each, p, n in found), key=lambda ranked: -ranked.probability)


def _log_weight(suspect: Suspect, foretold: BoolArray, right: BoolArray, times: FloatArray) -> float:
    chances = [share * foretold + (1.0 - share) * right for share in SHARES]
    return _averaged(suspect, [float(times @ np.log((1.0 - SLIP) * p + SLIP / 32)) for p in chances])


def _log_of_none(right: BoolArray, times: FloatArray) -> float:
    """Return the weight of a transformation that nobody thought of: what is wrong may come as any other code."""
    logs = [np.where(right, math.log(1.0 - share + share / 32), math.log(share / 31)) for share in SHARES_OF_NONE]
    return _averaged(NONE_FITS, [float(times @ each) for each in logs])


def _averaged(suspect: Suspect, logs: list[float]) -> float:
    """Return the logarithm of the prior times the mean over the shares."""
    top = max(logs)
    return float(math.log(suspect.prior) + top + math.log(sum(math.exp(log - top) for log in logs) / len(logs)))


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
