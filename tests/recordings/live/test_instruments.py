"""Instruments as dialogues: what is said, what is answered; a promised line left unsaid fails too."""

import contextlib
import os
import threading
import time
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapewright.alphabets import ITA2, decode, encode
from tapewright.errors import InputError, TapewrightError, WrongUseError
from tapewright.recordings.live import control_line, serial_text, sound_card
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.oscilloscope import Oscilloscope, ScopeSource, VisaLink, data_of
from tapewright.recordings.live.scope_profile import Profile, read_profile
from tapewright.recordings.live.source import CodePiece, GapPiece, SamplePiece
from tapewright.recordings.live.sources import on_offer

NO_ENTRY = '0,"No error"'


class Dialogue:
    """A link that expects lines in order."""

    def __init__(self, *lines):
        self.lines = list(lines)

    def _next(self, said):
        assert self.lines, f"{said!r} was not expected"
        expected, answer = self.lines.pop(0)
        assert said == expected
        return answer

    def write(self, command):
        assert self._next(command) is None

    def ask(self, query):
        return self._next(query)

    def ask_raw(self, query):
        return self._next(query)

    def close(self):
        assert not self.lines, f"left unsaid: {self.lines}"


ERROR = ("SYSTem:ERRor?", NO_ENTRY)
TAKE = [(":SINGle", None), ERROR, ("*OPC?", "1"), ERROR, (":WAVeform:DATA?", b"#14\x00\x00\xff\xff\n"), ERROR]


@pytest.mark.parametrize(
    ("message", "data"),
    # layout of IEEE 488.2, 8.7.9 and 8.7.10; #12AB is the example of the reference list, the others from memory
    [
        (b"#12AB", b"AB"),
        (b"#15HELLO\n", b"HELLO"),
        (b"#0HELLO\n", b"HELLO"),
        (b"#3003a\nb\n", b"a\nb"),
        (b"#10\n", b""),
    ],
)
def test_blocks_of_ieee_488_2(message, data):
    assert data_of(message, "scope") == data


@given(st.binary(max_size=40))
def test_any_bytes_are_a_block_or_a_clear_no(message):
    with contextlib.suppress(InputError):
        assert len(data_of(message, "scope")) <= len(message)


@given(st.binary(max_size=300))
def test_a_block_comes_back(data):
    length = str(len(data)).encode()
    assert data_of(b"#" + str(len(length)).encode() + length + data + b"\n", "scope") == data


def test_an_oscilloscope_is_asked_for_its_errors_after_each_command():
    link = Dialogue(("*CLS", None), ERROR, *TAKE, (":WAVeform:XINCrement?", "2.0E-05"), ERROR, *TAKE)
    source = ScopeSource(Oscilloscope(link, Profile()), "invented")
    assert source.rate_hz == pytest.approx(50_000)
    pieces = source.pieces()
    first = next(pieces)
    assert isinstance(first, SamplePiece)
    assert first.samples.tolist() == [0, 0, 255, 255]
    assert isinstance(next(pieces), GapPiece)
    source.close()


def test_what_stands_in_the_error_queue_is_all_said():
    # the queue gives the oldest first and 0 when it is empty; -113 is "Undefined header" (SCPI 1999.0, from memory)
    link = Dialogue(
        ("*CLS", None),
        ("SYSTem:ERRor?", '-113,"Undefined header"'),
        ("SYSTem:ERRor?", '-222,"Data out of range"'),
        ERROR,
    )
    with pytest.raises(InputError) as no:
        ScopeSource(Oscilloscope(link, Profile()), "invented")
    assert "-113" in str(no.value)
    assert "-222" in str(no.value)
    assert not link.lines


def test_an_answer_that_is_no_time_is_said():
    link = Dialogue(("*CLS", None), ERROR, *TAKE, (":WAVeform:XINCrement?", "dots"), ERROR)
    with pytest.raises(InputError, match="profile"):
        ScopeSource(Oscilloscope(link, Profile()), "invented")


SIMULATED = """
spec: "1.1"
devices:
  bench:
    eom:
      TCPIP INSTR:
        q: "\\n"
        r: "\\n"
    error: 'unknown'
    dialogues:
      - q: "SYSTem:ERRor?"
        r: '0,"No error"'
      - q: "*CLS"
      - q: ":SINGle"
      - q: "*OPC?"
        r: "1"
      - q: ":WAVeform:XINCrement?"
        r: "1.0E-05"
      - q: ":WAVeform:DATA?"
        r: "#216@@@@zzzz@@@@zzzz"
resources:
  TCPIP::localhost::inst0::INSTR:
    device: bench
"""


@pytest.mark.filterwarnings("ignore")
def test_through_the_visa_library_and_a_simulated_instrument(tmp_path):
    described = tmp_path / "bench.yaml"
    described.write_text(SIMULATED)
    link = VisaLink("TCPIP::localhost::inst0::INSTR", 2.0, backend=f"{described}@sim")
    source = ScopeSource(Oscilloscope(link, Profile()), "invented")
    assert source.rate_hz == pytest.approx(1e5)
    assert next(source.pieces()).samples.tolist() == [64] * 4 + [122] * 4 + [64] * 4 + [122] * 4
    source.close()


NONSENSE = ["arm = 3", "colour = 'red'", "take_s = -1", "samples = 'u7'", "setup = '*CLS'", "=", "data = ''"]


@pytest.mark.parametrize("text", NONSENSE)
def test_a_profile_that_makes_no_sense_is_a_clear_no(text, tmp_path):
    path = tmp_path / "scope.toml"
    path.write_text(text)
    with pytest.raises(TapewrightError, match=r"scope\.toml"):
        read_profile(path)


def test_a_profile_replaces_words(tmp_path):
    path = tmp_path / "scope.toml"
    path.write_text('setup = ["*CLS", ":CHANnel1:COUPling DC"]\nsamples = "s16 big"\n')
    profile = read_profile(path)
    assert profile.setup == ("*CLS", ":CHANnel1:COUPling DC")
    assert (profile.samples, profile.ready) == ("s16 big", "*OPC?")


def test_a_receivers_bytes_are_codes_with_element_1_in_bit_0():
    # R is 01010 and Y 10101, element 1 first (ITU-T S.1); bit 0 goes out first on a UART (common practice, no source)
    assert serial_text.code_of(0b01010) == "01010"
    assert serial_text.code_of(0b00001) == "10000"  # E: element 1 alone
    assert serial_text.code_of(0x80) == ""


def test_a_character_of_5n1_5_at_50_baud_lasts_150_ms():
    # 7.5 units of 20 ms (ITU-T S.3: 7.5 units, 400 characters a minute; from memory)
    units = 1 + serial_text.DATA_BITS + serial_text.STOP_UNITS
    assert units / 50 == pytest.approx(0.150)
    # a whole number of baud for 45.45: element 5 is looked at 5.5 units after the start, and is off by 5.5 %
    assert 5.5 * abs(45 / (1000 / 22) - 1) == pytest.approx(0.055, abs=0.001)


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs pseudo-terminals")
def test_text_through_a_pseudo_terminal():
    near, far = os.openpty()
    source = serial_text.open_source(Asked(where=os.ttyname(far), baud=50.0))
    codes = encode("THE FOX", ITA2)
    os.write(near, bytes(sum(int(bit) << k for k, bit in enumerate(code)) for code in codes))
    got, until = [], time.monotonic() + 30
    for piece in source.pieces():
        assert isinstance(piece, CodePiece)
        got += piece.codes
        if len(got) >= len(codes) or time.monotonic() > until:
            break
    source.close()
    os.close(near)
    os.close(far)
    assert decode(got, ITA2) == "THE FOX"


def test_a_receiver_must_know_the_speed():
    with pytest.raises(WrongUseError, match="--nominal"):
        serial_text.open_source(Asked(where="/dev/nowhere"))
    with pytest.raises(InputError, match="nowhere"):
        serial_text.open_source(Asked(where="/dev/nowhere", baud=50.0))


class Port:
    """A port whose CTS follows known instants."""

    def __init__(self, instants_s):
        self.instants_s, self.begun, self.closed = instants_s, None, False

    @property
    def cts(self):
        now = time.monotonic()
        self.begun = self.begun or now
        return sum(now - self.begun >= at for at in self.instants_s) % 2 == 1

    def close(self):
        self.closed = True


def test_a_control_input_tells_edges_with_true_doubt(monkeypatch):
    truth = np.cumsum([0.05, 0.02, 0.03, 0.02, 0.02, 0.04])
    port = Port(truth)
    monkeypatch.setattr(control_line.serial_ports, "open_port", lambda name, **how: port)
    source = control_line.open_source(Asked(where="port"))
    times, high, u = [], [], []
    for piece in source.pieces():
        times += piece.times_s.tolist()
        high += piece.level_after.tolist()
        u += piece.u_s.tolist()
        if piece.until_s > 0.3:
            break
    source.close()
    assert high == [True, False] * 3
    assert min(u) >= 0.001 / 12**0.5
    # half the interval between two looks is sqrt(3) u: no truth lies further away
    assert np.all(np.abs(np.array(times) - truth) <= 3**0.5 * np.array(u) + 1e-3)
    assert port.closed


class FakeSound:
    """The sound library, with one input that plays a file."""

    def __init__(self, samples):
        self.samples = samples

    def query_devices(self, *_, **__):
        return [{"name": "line in", "max_input_channels": 2, "max_output_channels": 0}]

    def InputStream(self, *, blocksize, channels, callback, **_):  # noqa: N802
        def play():
            quiet = SimpleNamespace(input_overflow=False)
            for n, first in enumerate(range(0, self.samples.size, blocksize)):
                block = np.repeat(self.samples[first : first + blocksize, None], channels, axis=1)
                status = SimpleNamespace(input_overflow=True) if n == 3 else None
                callback(block, len(block), None, status or (quiet if n % 2 else None))

        thread = threading.Thread(target=play)
        return SimpleNamespace(start=thread.start, stop=thread.join, close=lambda: None)


def test_a_sound_input_hands_on_every_sample_and_says_what_was_lost(monkeypatch):
    samples = np.arange(4800, dtype=np.int16)
    monkeypatch.setattr(sound_card.importlib, "import_module", lambda name: FakeSound(samples))
    source = sound_card.open_source(Asked(channel=2))
    got, gaps = [], 0
    for piece in source.pieces():
        if isinstance(piece, GapPiece):
            gaps += 1
        else:
            got += piece.samples.tolist()
        if len(got) >= samples.size:
            break
    source.close()
    assert got == samples.tolist()
    assert gaps == 1


@pytest.mark.parametrize(("first_s", "now_s", "lag_s"), [
    (100.0, 100.034, 0.024),  # 10 ms of samples, and 24 ms on the way
    (0.0, 0.0, 0.0), (0.0, 55.0, 0.0), (100.0, 99.0, 0.0), (100.0, 160.0, 0.0),
])  # fmt: skip
def test_the_way_through_the_sound_card_counts_where_it_tells_it(first_s, now_s, lag_s):
    times = SimpleNamespace(inputBufferAdcTime=first_s, currentTime=now_s)
    assert sound_card.lag_of(times, 0.010) == pytest.approx(lag_s)
    assert sound_card.lag_of(None, 0.010) == 0.0


def test_a_missing_library_is_a_reason_with_a_remedy(monkeypatch):
    def missing(name):
        raise OSError("PortAudio library not found") if name == "sounddevice" else ImportError(name)

    for module in (sound_card, control_line.serial_ports):
        monkeypatch.setattr(module.importlib, "import_module", missing)
    offers = {offer.kind: offer for offer in on_offer()}
    assert "libportaudio2" in offers["sound"].unavailable
    assert "pip install" in offers["text"].unavailable
    assert "pip install" in offers["scope"].unavailable
    assert offers["practice"].unavailable == ""
    with pytest.raises(InputError, match="libportaudio2"):
        sound_card.open_source(Asked())
