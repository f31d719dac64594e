"""The supply's dialogue: word for word, its error queue, a simulated instrument of a general library, its profile."""

import contextlib
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.bench_supply import BenchSupply, FailingLink
from tapewright.errors import InputError
from tapewright.motor.guarded_supply import Ceiling, GuardedSupply, SupplyRefusedError
from tapewright.motor.supplies.profile import read_profile
from tapewright.motor.supplies.scpi_supply import ScpiSupply
from tapewright.motor.supplies.visa_link import LostLinkError, VisaLink

NO_ERROR = ("SYST:ERR?", '0,"No error"')


class Dialogue:
    """A link that fails on a wrong line and on a promised line left unsaid."""

    where = "dialogue"

    def __init__(self, *lines):
        self.lines = list(lines)

    def write(self, line):
        expected, answer = self.lines.pop(0)
        assert (line, answer) == (expected, None)

    def ask(self, line):
        expected, answer = self.lines.pop(0)
        assert line == expected
        return answer

    def close(self):
        assert not self.lines, f"left unsaid: {self.lines}"


HELLO = (("*CLS", None), ("*IDN?", "Skerry Point,bench supply,1,1"), NO_ERROR)


def test_setting_is_said_and_the_error_queue_looked_into():
    link = Dialogue(*HELLO, ("SOUR:CURR 0.800", None), NO_ERROR, ("SOUR:VOLT 24.500", None), NO_ERROR,
                    ("OUTP ON", None), NO_ERROR, ("MEAS:VOLT?", "+2.4498E+01"), ("MEAS:CURR?", "0.41"),
                    ("OUTP OFF", None), NO_ERROR, ("OUTP?", "0"))  # fmt: skip
    supply = ScpiSupply(link, read_profile("generic"))
    supply.set_limit(0.8)
    supply.set_volts(24.5)
    supply.switch(True)
    assert supply.measure() == (24.498, 0.41)
    supply.switch(False)
    assert not supply.is_on()
    supply.close()


def test_the_error_queue_is_emptied_oldest_first():
    """SCPI-1999 vol. 2, 21.8 (from memory): the oldest entry first, 0 when there is none left."""
    link = Dialogue(*HELLO, ("SOUR:VOLT 999.000", None), ("SYST:ERR?", '-222,"Data out of range"'),
                    ("SYST:ERR?", '-350,"Queue overflow"'), NO_ERROR)  # fmt: skip
    supply = ScpiSupply(link, read_profile("generic"))
    with pytest.raises(SupplyRefusedError, match=r'-222,"Data out of range"; -350,"Queue overflow"'):
        supply.set_volts(999)
    supply.close()


def test_a_watchdog_is_started_where_there_is_one():
    link = Dialogue(*HELLO, ("SYST:COMM:GUARD 10.000", None), NO_ERROR)
    assert ScpiSupply(link, read_profile("skerry")).switches_off_alone
    link.close()


@pytest.mark.parametrize(("said", "volts"), [
    ("12.5 V", 12.5), ("+1.25E+01V", 12.5), ("12500mV", 12.5), (" 12.5\r", 12.5), ("-0.002", -0.002),
])  # fmt: skip
def test_a_unit_behind_the_number_is_understood(said, volts):
    supply = ScpiSupply(Dialogue(*HELLO, ("MEAS:VOLT?", said), ("MEAS:CURR?", "410 mA")), read_profile("generic"))
    assert supply.measure() == (pytest.approx(volts), pytest.approx(0.41))


def test_what_others_left_in_the_queue_is_no_answer_to_us():
    old = tuple(("SYST:ERR?", '-350,"Queue overflow"') for _ in range(40))
    link = Dialogue(*HELLO[:2], *old, NO_ERROR, ("OUTP OFF", None), NO_ERROR)
    ScpiSupply(link, read_profile("generic")).switch(False)
    link.close()


def test_a_queue_that_never_empties_is_told_in_a_few_words():
    full = tuple(("SYST:ERR?", f'-113,"Undefined header {"x" * 500}"') for _ in range(64))
    supply = ScpiSupply(Dialogue(*HELLO, ("OUTP OFF", None), *full), read_profile("generic"))
    with pytest.raises(SupplyRefusedError, match="and 61 more") as refused:
        supply.switch(False)
    assert len(str(refused.value)) < 400


class LateLink(FailingLink):
    """One answer does not come in time, and then comes in place of the next; all later ones are out by one."""

    def __init__(self, supply, late_at):
        super().__init__(supply)
        self.late_at, self.asked, self.held = late_at, 0, []

    def ask(self, line):
        self.held.append(super().ask(line))
        self.asked += 1
        if self.asked == self.late_at:
            raise LostLinkError(self.where, expected="an answer", found="nothing in time")
        return self.held.pop(0)

    def reopen(self):
        super().reopen()
        self.held.clear()


@pytest.mark.parametrize("profile", ["generic", "without a queue"])
@pytest.mark.parametrize("late_at", range(3, 20))
def test_a_late_answer_is_never_taken_for_the_next(tmp_path, profile, late_at):
    """The output is off, and known to be off by an answer to that question, not by one to an older question."""
    words = read_profile("generic")
    if profile != "generic":
        words = replace(words, words={**words.words, "next_error": ""})
    instrument = BenchSupply()
    link = LateLink(instrument, late_at)
    guard = GuardedSupply(ScpiSupply(link, words), Ceiling(48.0, 0.8), lambda s: None, lambda said: None)
    with contextlib.suppress(LostLinkError), guard:
        for volts in (12.0, 24.0, 36.0):
            guard.set_volts(volts)
    assert (instrument.on, guard.is_off) == (False, True)
    # what it says last is in step again
    assert not link.held


@pytest.mark.parametrize("said", ["", "yes", "nan", "1e999", "\x00", "9.91E37", "9.9E37", "12 A", "1.2.3V", "V"])
def test_odd_answers_are_said(said):
    supply = ScpiSupply(Dialogue(*HELLO, ("MEAS:VOLT?", said)), read_profile("generic"))
    with pytest.raises(SupplyRefusedError, match="Is it the right profile"):
        supply.measure()


SIMULATED = """
spec: "1.1"
devices:
  supply:
    eom:
      TCPIP SOCKET:
        q: "\\n"
        r: "\\n"
    error:
      error_queue:
        - q: "SYST:ERR?"
          default: '0,"No error"'
          command_error: '-113,"Undefined header"'
          query_error: '-400,"Query error"'
    dialogues:
      - {q: "*IDN?", r: "Skerry Point,bench supply,1,1"}
      - {q: "*CLS"}
      - {q: "MEAS:CURR?", r: "0.35"}
    properties:
      volts:
        default: 0.0
        getter: {q: "MEAS:VOLT?", r: "{:.3f}"}
        setter: {q: "SOUR:VOLT {:.3f}", e: '-222,"Data out of range"'}
        specs: {min: 0, max: 60, type: float}
      limit:
        default: 0.0
        getter: {q: "SOUR:CURR?", r: "{:.3f}"}
        setter: {q: "SOUR:CURR {:.3f}"}
        specs: {min: 0, max: 5, type: float}
      on:
        default: 0
        getter: {q: "OUTP?", r: "{:d}"}
        setter: {q: "SWITCH {:d}"}
        specs: {valid: [0, 1], type: int}
resources:
  TCPIP::bench::5025::SOCKET:
    device: supply
"""


def test_a_simulated_instrument_of_a_general_library(tmp_path):
    (tmp_path / "bench.yaml").write_text(SIMULATED)
    said = dict(read_profile("generic").words, on="SWITCH 1", off="SWITCH 0")
    words = "\n".join(f'{key} = "{value}"' for key, value in said.items())
    (tmp_path / "words.toml").write_text(f"[words]\n{words}\n")
    backend = f"{tmp_path / 'bench.yaml'}@sim"
    link = VisaLink("TCPIP::bench::5025::SOCKET", timeout_s=1.0, ends="\n", backend=backend)
    supply = ScpiSupply(link, read_profile(str(tmp_path / "words.toml")))
    assert "bench supply" in supply.what
    supply.set_limit(0.5)
    supply.set_volts(12.5)
    supply.switch(True)
    assert (supply.measure(), supply.get_limit(), supply.is_on()) == ((12.5, 0.35), 0.5, True)
    supply.reopen()
    supply.switch(False)
    assert not supply.is_on()
    supply.close()


def test_nobody_at_the_address(tmp_path):
    (tmp_path / "bench.yaml").write_text(SIMULATED)
    backend = f"{tmp_path / 'bench.yaml'}@sim"

    def call():
        return VisaLink("TCPIP::elsewhere::5025::SOCKET", timeout_s=0.2, ends="\n", backend=backend).ask("*IDN?")

    with pytest.raises(LostLinkError, match="is the address right"):
        call()


@pytest.mark.parametrize(("text", "key"), [
    ("[words]\nset_volt = 'X {value}'", "words.set_volt"), ("words = 3", "words"),
    ("[words]\non = ''", "words.set_volts"), ("[link]\ntimeout_s = 'x'\n", "words.set_volts"),
])  # fmt: skip
def test_a_profile_that_is_none_is_said(tmp_path, text, key):
    (tmp_path / "p.toml").write_text(text)
    with pytest.raises(InputError, match=key.replace(".", r"\.")):
        read_profile(str(tmp_path / "p.toml"))


@settings(max_examples=60, deadline=None)
@given(st.one_of(st.binary(max_size=200), st.text(max_size=60).map(lambda t: f"[words]\non = {t!r}".encode())))
def test_any_bytes_as_a_profile(tmp_path_factory, junk):
    file = tmp_path_factory.mktemp("p") / "p.toml"
    file.write_bytes(junk)
    with pytest.raises(InputError):
        read_profile(str(file))


def test_every_driver_offers_the_same():
    from tapewright.practice.supply import PracticeSupply

    both = ScpiSupply(FailingLink(BenchSupply()), read_profile("generic")), PracticeSupply("heron", 1)
    for name in ("set_limit", "set_volts", "switch", "is_on", "get_limit", "measure", "reopen", "close"):
        assert all(callable(getattr(supply, name)) for supply in both)
