"""Figures made beside the line: no character waits for them, and they say the same."""

import pytest

from line.live.signals import sampled, sent, settings
from tapewright.line.live.events import Compared, Figures, Marked, Struck
from tapewright.line.live.live_line import LiveLine

RATE_HZ, BAUD = 4000.0, 75.0
TEXT = "RY FOX 12 THE QUICK DOG RY"
PIECE = 400


class Later:
    """Does a piece of work only when somebody waits for it, or after it has been looked at so many times."""

    def __init__(self, patience):
        self.patience, self.asked, self.made = patience, 0, 0

    def submit(self, work):
        self.asked += 1
        return _Answer(self, work)


class _Answer:
    def __init__(self, helper, work):
        self.helper, self.work, self.looks, self.value = helper, work, 0, None

    def done(self):
        self.looks += 1
        return self.looks > self.helper.patience

    def result(self):
        if self.value is None:
            self.value = self.work()
            self.helper.made += 1
        return self.value


@pytest.fixture(scope="module")
def signal():
    return sampled(sent(TEXT, unit_s=1 / BAUD), RATE_HZ)


def watched(signal, helper=None, mark_at=None):
    line = LiveLine(settings(BAUD), RATE_HZ)
    if helper is not None:
        line.helper = helper
    events = []
    for first in range(0, signal.size, PIECE):
        events += line.feed(signal[first : first + PIECE])
        if mark_at is not None and line.characters >= mark_at:
            events += line.mark("turned screw B a quarter")
            mark_at = None
    events += ["the end"]
    return events + list(line.finish())


@pytest.fixture(scope="module")
def at_once(signal):
    """What is told when nothing is handed over."""
    return watched(signal)


def kinds(events, kind):
    return [e for e in events if isinstance(e, kind)]


def test_characters_come_though_no_figures_do(signal, at_once):
    never = Later(10**9)
    events = watched(signal, never)
    told = events[: events.index("the end")]
    struck = kinds(told, Struck)
    assert "".join(e.text for e in struck) == TEXT
    waited = kinds(at_once, Struck)
    assert [(e.code, e.start_s) for e in struck] == [(e.code, e.start_s) for e in waited]
    # with the unit as first learned each settles within a hop or two of where the newest unit puts it
    assert [e.settled_s for e in struck] == pytest.approx([e.settled_s for e in waited], abs=0.011)
    assert not kinds(told, Figures)
    assert never.asked == 1  # never more than one at a time, however slow it is
    # the end waits for what was asked, and says of which characters it is
    last = kinds(events, Figures)[-1]
    assert last.result.speed.unit_ms.value is not None
    assert last.characters < len(struck)


def test_figures_that_come_late_say_what_they_would_have_said(signal, at_once):
    prompt, late = kinds(at_once, Figures), kinds(watched(signal, Later(250)), Figures)
    assert 2 < len(late) < len(prompt)  # the slow helper is asked less often
    for figures in late:
        beside = min(prompt, key=lambda e: abs(e.characters - figures.characters)).result.speed.unit_ms
        assert figures.result.speed.unit_ms.value == pytest.approx(beside.value, abs=2 * beside.u)


@pytest.mark.parametrize("patience", [3, 10**9])
def test_a_trial_is_compared_once_it_can_be(signal, patience):
    events = watched(signal, Later(patience), mark_at=10)
    (marked,) = kinds(events, Marked)
    compared = kinds(events, Compared)
    assert {c.number for c in compared} == {1}
    assert compared[-1].before == marked.characters
    assert compared[-1].before + compared[-1].after == len(kinds(events, Struck))
    expected = kinds(watched(signal, mark_at=10), Compared)[-1]
    assert [c.what for c in compared[-1].changes] == [c.what for c in expected.changes]


def test_figures_asked_for_before_a_trial_are_not_told_after_it(signal):
    events = watched(signal, Later(150), mark_at=10)
    (marked,) = kinds(events, Marked)
    after = kinds(events[events.index(marked) :], Figures)
    assert after
    assert all(e.at_s >= marked.at_s for e in after)
