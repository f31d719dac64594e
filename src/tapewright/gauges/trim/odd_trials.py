"""What to make of trials that do not agree: which account is held, which trial is named, what is asked for."""

from dataclasses import dataclass

import numpy as np

from tapewright.gauges.document import OddTrial
from tapewright.gauges.trim.problem import Problem
from tapewright.gauges.trim.rivals import Account, beforehand, weigh

#: an account this likely is taken as it is, and a further one is looked for beside it
SETTLED = 0.98
#: most trials that may be odd before nothing more is made of them
MOST_ODD = 3
#: a trial is named once it is rather odd than not
NAMED = 0.5
#: an account less likely than this changes no move; it only lowers how sure one is
WORTH_A_LOOK = 0.05
#: the last trial is doubtful with more than this probability, when that is so many times the odds of any trial
ASK, MORE_THAN_USUAL = 0.1, 3.0
#: after so many readings of one place nothing is gained by a further one
ENOUGH_READS = 3


@dataclass(frozen=True, slots=True)
class Held:
    """What is held of the trials.

    Attributes:
        accounts: those that are possible, the likeliest first, each with what was settled before.
        odd: trials to name.
        last_doubtful: whether the last trial may well not be what it says, or something gave way before it.
        confirmed: whether every reading is confirmed by others, so that one slip of the pen would show.
    """

    accounts: tuple[Account, ...]
    odd: tuple[OddTrial, ...]
    last_doubtful: bool
    confirmed: bool

    @property
    def lead(self) -> Account:
        """The likeliest account."""
        return self.accounts[0]

    @property
    def beside(self) -> tuple[Account, ...]:
        """Further accounts that a move has to reckon with."""
        return tuple(a for a in self.accounts[1:3] if a.weight > WORTH_A_LOOK)


def hold(problem: Problem) -> Held:
    """Weigh the accounts of the trials; what is settled is put right or left out, and named."""
    now, odd, asked_again = problem, list[Account](), reads_here(problem) >= ENOUGH_READS
    accounts, confirmed = weigh(now)
    while len(odd) < MOST_ODD:
        best = accounts[0]
        if best.kind is None or best.weight < SETTLED or (best.at_last and not asked_again):
            break
        odd.append(best)
        now = best.problem
        accounts, confirmed = weigh(now)
    doubtful = sum(a.weight for a in accounts if a.at_last)
    named = [*odd, *(a for a in accounts[:1] if a.kind is not None and a.weight > NAMED)]
    usual = beforehand(len(problem.targets))
    more = doubtful / max(1 - doubtful, 1e-9) > MORE_THAN_USUAL * usual / (1 - usual)
    return Held(tuple(accounts), tuple(odd_trial(problem, a) for a in named), doubtful > ASK and more, confirmed)


def reads_here(problem: Problem) -> int:
    """Return how often in a row the last place was read."""
    back = problem.trials[::-1]
    return next((n for n, trial in enumerate(back) if trial.at != back[0].at), len(back))


def odd_trial(problem: Problem, account: Account) -> OddTrial:
    """Return the trial of an account, with what does not fit and what would."""
    assert account.kind is not None
    return OddTrial(account.trial + 1, _why(problem, account), account.kind, account.would_fit)


def _why(problem: Problem, a: Account) -> str:
    number, names = f"Trial {a.trial + 1}", " and ".join(a.what)
    if a.kind == "slipped":
        what = f"{names} lies" if a.what else "every reading lies"
        return (
            f"{number}: from here on {what} otherwise than the turns account for. Did a lock slip, or a part give way? "
            "Look at the locks and read it again."
        )
    if a.kind == "swapped":
        fits = ", ".join(f"{name} at {_text(at)}" for name, at in a.would_fit.items())
        return f"{number} does not fit; it would with {fits}. Were {names} exchanged?"
    if not a.what:
        return f"{number}: nothing read there fits where the screws are said to stand. Read it again."
    if len(a.what) > 1:
        return f"{number}: {names} would fit in each other's boxes. Read it again."
    j = next(n for n, t in enumerate(problem.targets) if t.name == a.what[0])
    seen, unit = problem.trials[a.trial].read[j], problem.targets[j].unit
    read = "" if seen is None else f" {_seen(seen.value, seen.low, seen.high)} {unit}"
    by = " (a leaf more or less)" if a.kind == "misread" else ""
    return f"{number}: {names}{read} does not fit; {_text(a.would_fit[a.what[0]])} would{by}. Read it again."


def _seen(value: float | None, low: float | None, high: float | None) -> str:
    if value is not None:
        return _text(value)
    return " to ".join(_text(end) for end in (low, high) if end is not None)


def _text(number: float) -> str:
    return f"{np.round(number, 6) + 0.0:g}"
