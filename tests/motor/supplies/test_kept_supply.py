"""The output goes off when the link was away for a while, and when nothing is left of the program that set it."""

import os
import queue
import signal
import subprocess
import sys
import time

import pytest

from fakes.bench_supply import BenchSupply, FailingLink, SupplyOnSocket
from tapewright.motor.guarded_supply import Ceiling, GuardedSupply
from tapewright.motor.supplies import keeper
from tapewright.motor.supplies.kept_supply import KeptSupply
from tapewright.motor.supplies.profile import read_profile
from tapewright.motor.supplies.scpi_supply import ScpiSupply
from tapewright.motor.supplies.visa_link import LostLinkError

CEILING = Ceiling(48.0, 0.8)
WORDS = ["--first-volts", "40", "--most-volts", "70", "--most-amps", "1.5", "--rpm", "1800", "--acknowledged"]


@pytest.fixture
def bench():
    made = SupplyOnSocket()
    yield made
    made.close()


def test_it_is_used_like_any_supply(bench):
    with GuardedSupply(KeptSupply(bench.address, "generic"), CEILING, lambda s: None, print) as guard:
        guard.set_volts(12.0)
        assert bench.supply.on
        volts, amps = guard.measure()
    assert (volts, round(amps, 3)) == (12.0, 0.4)
    assert "Skerry Point" in guard.what
    assert (bench.supply.on, guard.is_off) == (False, True)


@pytest.mark.parametrize("away_s", [0.5, 4.0])
def test_a_cable_pulled_and_put_back(bench, away_s):
    """Longer than three quick tries take: it goes off as soon as the link is back, and is then known to be off."""
    said = []
    guard = GuardedSupply(KeptSupply(bench.address, "generic"), CEILING, lambda s: None, said.append)

    def lose_it():
        with guard:
            guard.set_volts(12.0)
            bench.pull_the_cable()
            threading_timer(away_s, bench.plug_it_in)
            guard.measure()

    with pytest.raises(LostLinkError):
        lose_it()
    assert (bench.supply.on, guard.is_off) == (False, True)
    assert any("MAY STILL BE ON" in words for words in said) == (away_s > 2)


def threading_timer(seconds, do):
    import threading

    threading.Timer(seconds, do).start()


def start(bench):
    command = [sys.executable, "-m", "tapewright", "motor", "supply", "--to", bench.address, *WORDS, "--no-confirm"]
    program = subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
    )
    assert bench.heard.wait(30), "the output never went on"
    return program


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
@pytest.mark.parametrize("cable", ["in", "pulled"])
def test_killed_outright_it_still_goes_off(bench, cable):
    program = start(bench)
    if cable == "pulled":
        bench.pull_the_cable()
    os.killpg(program.pid, signal.SIGKILL)
    program.communicate()
    if cable == "pulled":
        time.sleep(1.0)
        assert bench.supply.on
        bench.plug_it_in()
    assert bench.off.wait(20)
    assert not bench.supply.on


@pytest.mark.skipif(os.name == "nt", reason="signals as POSIX has them")
def test_hung_it_goes_off_and_many_interrupts_are_no_false_alarm(bench):
    program = start(bench)
    program.send_signal(signal.SIGSTOP)
    assert bench.off.wait(20), "no sign of life"
    program.send_signal(signal.SIGCONT)
    for _ in range(6):
        program.send_signal(signal.SIGINT)
        time.sleep(0.05)
    program.communicate(timeout=30)
    assert not bench.supply.on


@pytest.mark.parametrize("at", range(4, 40))
def test_the_keeper_by_itself(monkeypatch, at):
    """At each of its lines the link is lost; then nobody is there any more."""
    monkeypatch.setattr(keeper, "FIRST_PAUSE_S", 0.0)
    instrument = BenchSupply()
    told = queue.Queue()
    calls = ([1, "set_volts", 12.0], [2, "switch", True], [3, "measure"], [4, "alive"], [5, "set_volts", 24.0], None)
    for message in calls:
        told.put(message)
    supply = ScpiSupply(FailingLink(instrument, at, LostLinkError), read_profile("generic"))
    answers = []
    keeper.Keeper(supply, told, lambda *words: answers.append(words)).run()
    assert not instrument.on
    assert answers[-1] == (0, "ok", True)


def test_a_call_after_silence_is_refused(monkeypatch):
    monkeypatch.setattr(keeper, "SILENT_S", 0.05)
    instrument, told, answers = BenchSupply(), queue.Queue(), []
    supply = ScpiSupply(FailingLink(instrument), read_profile("generic"))
    told.put([1, "switch", True])

    def answer(*words):
        answers.append(words)
        if words[0] == 0:
            told.put([2, "set_volts", 5.0])
            told.put(None)

    keeper.Keeper(supply, told, answer).run()
    assert answers[0] == (1, "ok", None)
    assert answers[2][:2] == (2, "refused")
    assert not instrument.on
