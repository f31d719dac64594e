"""An exhaustive look-ahead policy on small models, written from the definition, and what following the advice costs.

State: what each test answered, which remedies were done in vain. Cost: minutes until a remedy hits a cause that is
really there. The best policy takes in every state the cheapest of all tests and remedies, all futures weighed:

    V(state) = min( minutes(test) + sum over answers P(answer) V(state + answer),
                    minutes(remedy) + P(cause not there) V(state + tried in vain) )
"""

import itertools

import numpy as np

from tapewright.advisor.check_model import make_model
from tapewright.advisor.evidence import Evidence, no, yes
from tapewright.advisor.reason import diagnose


def small_model(rng, causes=4, tests=5):
    """Return a model: one complaint that every cause shows, and tests of one finding each."""
    words = ["nearly", "often", "sometimes"]
    strength = {"always": 0.97, "nearly": 0.88, "often": 0.65, "sometimes": 0.3}
    finding = {f"f{n}": _finding(f"t{n}") for n in range(tests)} | {"complaint": _finding("look")}
    cause = {}
    for c in range(causes):
        links = {word: [] for word in words}
        for n in range(tests):
            if rng.random() < 0.5:
                links[words[rng.integers(0, 3)]].append(f"f{n}")
        cause[f"c{c}"] = {"station": "machine", "prior": f"p{c}", "says": f"cause {c}", "do": "mend it",
                          "minutes": float(rng.integers(5, 60)), "always": ["complaint"], **links}  # fmt: skip
    return make_model("small", "small", {
        "title": "small", "station": {"machine": "machine"}, "strength": strength, "leak": {"uncommon": 0.01},
        "prior": {f"p{c}": float(rng.uniform(0.02, 0.1)) for c in range(causes)},
        "test": {f"t{n}": {"do": "look", "minutes": float(rng.integers(2, 20))} for n in range(tests)}
        | {"look": {"do": "look", "minutes": 1}},
        "finding": finding, "cause": cause,
    })  # fmt: skip


def _finding(test):
    return {"says": "it shows", "ask": "Does it show?", "seen": "eye", "by": "eye", "test": test}


class Game:
    """The exact odds of a small model, for any state, by the definition."""

    def __init__(self, model):
        self.model, self.causes = model, list(model.causes)
        self.tests = [test for test in model.tests if test != "look" and model.shown_by(test)]
        self.sets = np.array(list(itertools.product([0, 1], repeat=len(self.causes))))
        priors = np.array([cause.prior for cause in model.causes.values()])
        self.prior = np.prod(np.where(self.sets, priors, 1 - priors), axis=1)
        self.shows = {test: self._chance_shown(model.shown_by(test)[0]) for test in self.tests}
        self.start = self.prior * self._chance_shown("complaint")
        self.best = {}

    def _chance_shown(self, name):
        strengths = np.array([cause.shows.get(name, 0.0) for cause in self.model.causes.values()])
        return 1 - (1 - self.model.findings[name].leak) * np.prod(1 - strengths * self.sets, axis=1)

    def weights(self, answers, tried):
        """Probability of each fault set with the complaint, these answers and these remedies in vain."""
        out = self.start.copy()
        for test, value in answers:
            out *= self.shows[test] if value else 1 - self.shows[test]
        for cause in tried:
            out *= 1 - self.sets[:, self.causes.index(cause)]
        return out

    def chance(self, answers, tried, test):
        yes_, no_ = (self.weights(answers | {(test, value)}, tried).sum() for value in (True, False))
        return yes_ / (yes_ + no_)

    def chance_of(self, answers, tried, cause):
        weights = self.weights(answers, tried)
        return float(weights @ self.sets[:, self.causes.index(cause)] / weights.sum())

    def value(self, answers=frozenset(), tried=frozenset()):
        """Least expected minutes from here on; when all remedies were in vain, nothing more can be done."""
        key = answers, tried
        if key not in self.best:
            done = {test for test, _ in answers}
            options = [self.after_remedy(answers, tried, c, self.value) for c in self.causes if c not in tried]
            options += [self.after_test(answers, tried, t, self.value) for t in self.tests if t not in done]
            self.best[key] = min(options) if len(tried) < len(self.causes) else 0.0
        return self.best[key]

    def after_test(self, answers, tried, test, value):
        p = self.chance(answers, tried, test)
        on_yes, on_no = value(answers | {(test, True)}, tried), value(answers | {(test, False)}, tried)
        return self.model.tests[test].minutes + p * on_yes + (1 - p) * on_no

    def after_remedy(self, answers, tried, cause, value):
        p = self.chance_of(answers, tried, cause)
        return self.model.causes[cause].minutes + (1 - p) * value(answers, tried | {cause})

    def advised(self, answers=frozenset(), tried=frozenset()):
        """Expected minutes of doing what the advisor says, by the same odds."""
        if len(tried) == len(self.causes):
            return 0.0
        told = [yes("complaint", "")] + [(yes if v else no)(self.model.shown_by(t)[0], "") for t, v in answers]
        found = diagnose(self.model, Evidence(tuple(told), frozenset(), tried))
        tests = [test.test for test in found.next_tests if test.test != "look"]
        remedy = found.stop.cause if found.stop else ""
        if not remedy and not tests:
            remedy = next(b.cause for b in found.causes if b.cause not in tried)
        if remedy and remedy not in tried:
            return self.after_remedy(answers, tried, remedy, self.advised)
        return self.after_test(answers, tried, tests[0], self.advised)
