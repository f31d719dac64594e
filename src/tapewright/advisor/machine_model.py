"""A machine as data: stations, causes, findings, tests, gates, and the words that stand for probabilities.

Picture (one model is put together from parts; shared parts stand once):

    stations, cautions, gates, classes  --+
    findings: characters, line, tape ...  +--> Model --> Network (arrays)
    tests                                 |
    causes: drive, loop, keyboard ...   --+
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from tapewright.advisor.document import Depth, Risk
from tapewright.advisor.network import Network
from tapewright.advisor.vocabulary import Vocabulary, vocabulary

#: From the least to the most dangerous; a user's limit allows everything up to it.
RISKS: tuple[Risk, ...] = ("none", "hand", "power", "loop")
#: From outside to a full strip-down.
DEPTHS: tuple[Depth, ...] = ("none", "covers", "assembly", "strip")
#: How far a figure of a model can be trusted when nothing else is stated.
STANDING = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Cause:
    """A fault that can be present.

    Attributes:
        name, station, says: its id, where it sits, what it is in one sentence.
        prior: probability before anything is known.
        do, minutes, risk, depth, cautions: the remedy.
        shows: finding -> strength, the probability that this cause alone brings it about.
        source: document behind the remedy, or "common practice, no source".
    """

    name: str
    station: str
    says: str
    prior: float
    do: str
    minutes: float
    depth: Depth
    cautions: tuple[str, ...]
    shows: Mapping[str, float]
    source: str = STANDING


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that can be found, and how it is recognised.

    Attributes:
        name, says: its id and what it is, in one sentence.
        ask: the plain question, answered yes, no or can't say.
        seen: how it is recognised.
        by: what it is found with: line, tape, gauge, coil, characters, comparison, eye, ear, finger, print, trial,
            record.
        words: other words people use for it.
        denied_by: words people use when it is NOT so ("line right" for a wrong line).
        leak: probability that it appears though no listed cause brings it about.
        test: the test that shows it.
        condition_of: station that is itself outside when this is found; "" when it is only a consequence.
        clears: stations that are proved when this was looked for and not found.
        measured: how result documents show it, one table for each sort of document; empty when only a person can.
        follows: whether it follows from whatever else is wrong in a recording.
    """

    name: str
    says: str
    ask: str
    seen: str
    by: str
    words: tuple[str, ...]
    leak: float
    test: str
    condition_of: str = ""
    clears: tuple[str, ...] = ()
    denied_by: tuple[str, ...] = ()
    measured: tuple[Mapping[str, object], ...] = field(default=(), compare=False)
    follows: bool = False


@dataclass(frozen=True, slots=True)
class Test:
    """Something to do that shows findings.

    Attributes:
        name, do: its id and what to do.
        minutes: time with the machine on the bench.
        risk, depth: one of RISKS and DEPTHS.
        cautions: texts, to be read before the step.
        needs: gates that must be on record first.
        opens: the gate it puts on record; "" when none.
        question: True for a plain question about one finding.
    """

    __test__ = False  # the test runner must not take it for one of its own

    name: str
    do: str
    minutes: float
    risk: Risk = "none"
    depth: Depth = "none"
    cautions: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    opens: str = ""
    question: bool = False


@dataclass(frozen=True, slots=True)
class Danger:
    """What hurts people, and must be said before everything else.

    Attributes:
        name, says: its id and what it is, in one sentence.
        do: what to do, in order; whom to call.
        forbids: the least risk of a test that is not advised while the danger stands.
        findings: what raises it when it was found.
        words: texts that raise it, whether or not they are a finding.
    """

    name: str
    says: str
    do: tuple[str, ...]
    forbids: Risk
    findings: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """A whole machine; what follows from it is worked out once.

    Attributes:
        name, title: id and what kind of machine.
        stations: station -> title, in the order of the chain.
        gates: gate -> what it records.
        causes, findings, tests, dangers: by name, in the order of the files.
        vocabulary: what words stand for each other.
    """

    name: str
    title: str
    stations: Mapping[str, str]
    gates: Mapping[str, str]
    causes: Mapping[str, Cause]
    findings: Mapping[str, Finding]
    tests: Mapping[str, Test]
    dangers: Mapping[str, Danger] = field(default_factory=dict)
    vocabulary: Vocabulary = field(default_factory=lambda: vocabulary((), (), (), ()))

    def shown_by(self, test: str) -> tuple[str, ...]:
        """Return the findings a test shows, in the order of the files."""
        return _findings_by_test(self).get(test, ())

    def network(self) -> Network:
        """Return the model as arrays, causes and findings in the order of the model."""
        return _network(self)


@lru_cache(maxsize=16)
def _findings_by_test(model: Model) -> dict[str, tuple[str, ...]]:
    out: dict[str, tuple[str, ...]] = {}
    for finding in model.findings.values():
        out[finding.test] = (*out.get(finding.test, ()), finding.name)
    return out


@lru_cache(maxsize=16)
def _network(model: Model) -> Network:
    place = {name: number for number, name in enumerate(model.findings)}
    strength = np.zeros((len(model.causes), len(place)))
    for row, cause in enumerate(model.causes.values()):
        for finding, p in cause.shows.items():
            strength[row, place[finding]] = p
    numbers = {station: number for number, station in enumerate(model.stations)}
    return Network(
        prior=np.array([cause.prior for cause in model.causes.values()]),
        strength=strength,
        leak=np.array([finding.leak for finding in model.findings.values()]),
        station=np.array([numbers[cause.station] for cause in model.causes.values()], dtype=np.int64),
    )
