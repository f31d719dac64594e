"""One recording is one observation: what it shows counts, what follows from that does not count again.

Findings of one recording are not independent: a mild fault shows little of all it could, a repair in software takes
away the consequences of what was repaired, and one fault makes a whole recording bad. So for each recording

    shown, of its own kind      counts as it is
    shown, and follows from     its leak is raised: any fault brings it about, so that it hardly speaks against a cause
    whatever else is wrong      that has no link to it ("distortion is high", "the margin is narrow")
    not shown, by a cause       does not count against the cause: the recording is evidence for it, and never weakens
    of something shown          what its own words show
    not shown, by any other     only the strongest denial counts
    cause

The causes stay independent and the sums exact; only links and leaks of findings with evidence are changed. (Ours; a
table of simulated recordings would tell the same with numbers of its own.)
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from tapewright.advisor.evidence import Answer
from tapewright.advisor.machine_model import Model
from tapewright.advisor.network import BoolArray, FloatArray, Network

#: How often a recording that shows some fault shows this too, whatever the fault is (common practice, no source).
FOLLOWS = 0.5


def as_one_observation(model: Model, network: Network, settled: Mapping[str, Answer]) -> Network:
    """Return the network with the findings of each recording tied together.

    Args:
        model: the machine.
        network: its arrays.
        settled: one answer a finding.
    """
    place = {name: number for number, name in enumerate(model.findings)}
    strength, leak = network.strength.copy(), network.leak.copy()
    for recording in dict.fromkeys(a.recording for a in settled.values() if a.recording):
        answers = [a for a in settled.values() if a.recording == recording]
        shown = [a.finding for a in answers if a.if_present > a.if_absent]
        gone = [place[a.finding] for a in answers if a.if_present < a.if_absent]
        own = [name for name in shown if not model.findings[name].follows]
        if own:
            follows = [place[name] for name in shown if model.findings[name].follows]
            leak[follows] = np.maximum(leak[follows], FOLLOWS)
        by_shown: BoolArray = np.any(network.strength[:, [place[name] for name in own or shown]] > 0, axis=1)
        _deny(strength, by_shown, gone)
    return replace(network, strength=strength, leak=leak)


def _deny(strength: FloatArray, by_shown: BoolArray, gone: Iterable[int]) -> None:
    """Keep of each cause's denials the strongest, of a cause of something shown none; changes `strength`."""
    columns = list(gone)
    if not columns:
        return
    denials = strength[:, columns]
    strongest = np.zeros_like(denials)
    rows = np.arange(len(denials))
    best = np.argmax(denials, axis=1)
    strongest[rows, best] = denials[rows, best]
    strongest[by_shown] = 0.0
    strength[:, columns] = strongest
