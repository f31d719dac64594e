"""The output is off after every one of a hundred induced failures, and the ceiling is never passed."""

import pytest

from fakes.bench_supply import BenchSupply, FailingLink
from tapewright.furniture.stop_signals import ToldToStopError
from tapewright.furniture.typed_lines import StoppedByKeyError
from tapewright.motor.guarded_supply import SWITCH_IT_OFF, Ceiling, GuardedSupply, SupplyRefusedError
from tapewright.motor.supplies.profile import read_profile
from tapewright.motor.supplies.scpi_supply import ScpiSupply
from tapewright.motor.supplies.visa_link import LostLinkError

CEILING = Ceiling(48.0, 0.8)
WAYS = (RuntimeError, TimeoutError, LostLinkError, KeyboardInterrupt, ToldToStopError)
FAILURES = [(how, at) for how in WAYS for at in range(4, 24)]


def session(instrument, link, said=None, settings=(12.0, 24.0, 36.0)):
    """Set some voltages, as bringing in a speed does."""
    supply = ScpiSupply(link, read_profile("generic"))
    said = [] if said is None else said
    with GuardedSupply(supply, CEILING, lambda s: None, said.append) as guard:
        for volts in settings:
            guard.set_volts(volts)
    return guard


@pytest.mark.parametrize(("how", "at"), FAILURES)
def test_output_is_off_after_an_induced_failure(how, at):
    """At each of the first lines after the greeting, in five ways; the connection comes back when it is opened anew."""
    instrument = BenchSupply()
    link = FailingLink(instrument, at, how)
    with pytest.raises(BaseException) as raised:
        session(instrument, link)
    assert isinstance(raised.value, how)
    assert not instrument.on
    assert link.closed
    assert max(instrument.history) <= CEILING.volts


def test_there_are_a_hundred_and_the_output_was_on_in_most():
    assert len(FAILURES) == 100
    on = BenchSupply()
    link = FailingLink(on)
    lines = []
    say = on.say
    on.say = lambda line: (lines.append(on.on), say(line))[1]
    session(on, link)
    assert sum(lines[3:23]) >= 10, "the failures must fall where the output is on, too"
    assert not on.on


@pytest.mark.parametrize("at", [1, 2, 3])
def test_a_connection_that_fails_in_the_greeting_is_let_go(at):
    instrument = BenchSupply()
    link = FailingLink(instrument, at, TimeoutError)
    with pytest.raises(TimeoutError):
        session(instrument, link)
    assert link.closed
    assert not instrument.on


@pytest.mark.parametrize("at", range(12, 22))
def test_a_connection_that_is_gone_for_good(at):
    """It is said loudly; a supply with a watchdog goes off by itself."""
    instrument = BenchSupply(watchdog=True)
    said = []
    with pytest.raises(LostLinkError):
        session(instrument, FailingLink(instrument, at, LostLinkError, for_good=True), said)
    assert said[-1] == SWITCH_IT_OFF
    instrument.hears_nothing_for(10)
    assert not instrument.on


def test_without_any_failure_it_is_off_too():
    instrument = BenchSupply()
    guard = session(instrument, FailingLink(instrument))
    assert (instrument.on, guard.is_off) == (False, True)
    assert instrument.limit_a == CEILING.amps


@pytest.mark.parametrize("gone", [BrokenPipeError, OSError, KeyboardInterrupt, RuntimeError])
@pytest.mark.parametrize("at", range(12, 20))
def test_a_terminal_that_has_gone_does_not_keep_it_from_going_off(at, gone):
    """The link fails, so that switching off needs a second try; what would be said about it cannot be said."""
    instrument = BenchSupply()

    def say(words):
        raise gone

    supply = ScpiSupply(FailingLink(instrument, at, LostLinkError), read_profile("generic"))

    def bring_it_up():
        with GuardedSupply(supply, CEILING, lambda s: None, say) as guard:
            for volts in (12.0, 24.0, 36.0):
                guard.set_volts(volts)

    with pytest.raises(LostLinkError):
        bring_it_up()
    assert not instrument.on


def test_a_key_stops_it():
    instrument = BenchSupply()

    def wait(seconds):
        raise StoppedByKeyError

    supply = ScpiSupply(FailingLink(instrument), read_profile("generic"))
    with pytest.raises(StoppedByKeyError), GuardedSupply(supply, CEILING, wait, print) as guard:
        guard.set_volts(10)
    assert not instrument.on


@pytest.mark.parametrize("volts", [48.001, 1e9, float("nan"), float("inf"), -1.0])
def test_above_the_ceiling_nothing_is_sent(volts):
    instrument = BenchSupply()
    with pytest.raises(SupplyRefusedError, match="ceiling"):
        session(instrument, FailingLink(instrument), settings=(20.0, volts))
    assert not instrument.on
    assert max(instrument.history) <= 20


def test_what_is_read_back_above_the_ceiling_switches_off():
    instrument = BenchSupply(volts_per_set=1.1)
    with pytest.raises(SupplyRefusedError, match="the supply gives"):
        session(instrument, FailingLink(instrument), settings=(20.0, 47.0))
    assert not instrument.on


def test_a_limit_that_was_not_taken_is_seen():
    instrument = BenchSupply()
    say = instrument.say
    instrument.say = lambda line: "5.000" if line == "SOUR:CURR?" else say(line)
    with pytest.raises(SupplyRefusedError, match="5 A"):
        session(instrument, FailingLink(instrument))
    assert not instrument.on


def test_a_supply_that_will_not_go_off_is_said():
    instrument, said = BenchSupply(), []
    say = instrument.say
    instrument.say = lambda line: None if line == "OUTP OFF" else say(line)
    session(instrument, FailingLink(instrument), said)
    assert said[-1] == SWITCH_IT_OFF
