"""A page that takes longer than anybody should look at an empty one: its frame comes at once, the rest by itself."""

import threading
import time

import pytest

from tapewright.bench import working
from tapewright.bench.working import NotYetError, Working


def impatient():
    made = Working()
    made.patience_s = 0.0
    return made


def held(document):
    """Work that goes on until it is let go, and how often it was begun."""
    go, begun = threading.Event(), []

    def work():
        begun.append(1)
        assert go.wait(30)
        return document

    return go, begun, work


def test_it_is_worked_out_once_and_given_once():
    there, (go, begun, work) = impatient(), held({"a": 1})
    for _ in range(3):
        with pytest.raises(NotYetError):
            there.document("/x", work)
    go.set()
    assert there.begun("/x") == {"a": 1}, "the twin waits, and leaves it to the page"
    assert there.document("/x", work) == {"a": 1}
    assert len(begun) == 1
    assert there.begun("/x") is None
    with pytest.raises(NotYetError):
        there.document("/y", held({})[2])


def test_a_refusal_comes_through():
    there = Working()

    def refuse():
        raise ValueError("no such machine")

    for _ in range(2):
        with pytest.raises(ValueError, match="no such machine"):
            there.document("/x", refuse)


def test_what_nobody_came_again_for_grows_old_and_a_write_lets_it_go(monkeypatch):
    there, (go, begun, work) = impatient(), held({"a": 1})
    for changed in (there.forget, lambda: monkeypatch.setattr(working, "KEPT_S", 0.0)):
        go.clear()
        with pytest.raises(NotYetError):
            there.document("/x", work)
        go.set()
        assert there.begun("/x") == {"a": 1}
        time.sleep(0.01)
        changed()
        so_far, there.patience_s = len(begun), 30.0
        assert there.document("/x", work) == {"a": 1}
        assert len(begun) == so_far + 1, "made anew"
        there.patience_s = 0.0


@pytest.mark.parametrize("page", ["", "/questions", "/gauges", "/proof"])
def test_the_frame_is_shown_at_once_then_the_twin_then_the_page(caller, bench, petrel, page, monkeypatch):
    path, go = f"/machines/{petrel}{page}", threading.Event()
    caller.get(path)
    counts = bench.book.counts
    monkeypatch.setattr(type(bench.book), "counts", lambda self, machine: go.wait(30) and counts(machine))
    monkeypatch.setattr(type(bench.book), "entries", _held(bench.book.entries, go))
    bench.working.patience_s = 0.01
    shown = caller.get(path)
    assert shown.status_code == 200
    assert "data-soon" in shown.text
    assert "Petrel" in shown.text
    go.set()
    assert caller.get(f"{path}.json").json()["format"].startswith("tapewright/bench/")
    again = caller.get(path).text
    assert "data-soon" not in again
    assert "Petrel" in again


def _held(what, go):
    return lambda self, *args, **named: go.wait(30) and what(*args, **named)


def test_no_such_machine_is_said_at_once(caller, bench):
    bench.working.patience_s = 0.0
    assert caller.get("/machines/nobody").status_code == 404
