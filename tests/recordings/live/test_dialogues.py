"""Whole dialogues with every source, and what goes wrong in the middle of them: never a wrong sample, never a hang."""

import threading
from types import SimpleNamespace

import numpy as np
import pytest

from tapewright.alphabets import ITA2
from tapewright.errors import InputError
from tapewright.line.document import LineSettings
from tapewright.line.live.live_line import LiveLine
from tapewright.line.live.watch import Until, Watch
from tapewright.recordings.live import control_line, oscilloscope, serial_text, sound_card
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.oscilloscope import Oscilloscope, ScopeSource
from tapewright.recordings.live.scope_profile import Profile
from tapewright.recordings.live.source import CodePiece, EdgePiece, SamplePiece

TRUE = [0, 0, 255, 255]
TIMEOUT = InputError("instrument", expected="an answer", found="nothing in time")


class Scope:
    """A made-up oscilloscope on its link: answers what it is asked, and fails once, at a given line, in a given way."""

    def __init__(self, fail_at=None, fault=None):
        self.fail_at, self.fault, self.count, self.closed, self.queue = fail_at, fault, 0, 0, []

    def _hears(self, line, right):
        self.count += 1
        assert self.count < 500, "it is asked for ever"
        return self.fault(self, line, right) if self.count == self.fail_at else right

    def write(self, command):
        self._hears(command, None)

    def ask(self, query):
        right = {"*OPC?": "1", ":WAVeform:XINCrement?": "2.0E-05"}.get(query)
        if query == "SYSTem:ERRor?":
            right = self.queue.pop(0) if self.queue else '0,"No error"'
        return self._hears(query, right)

    def ask_raw(self, query):
        return self._hears(query, b"#14" + bytes(TRUE) + b"\n")

    def close(self):
        self.closed += 1


def unplugged(scope, line, right):
    raise TIMEOUT


def an_entry_in_its_queue(scope, line, right):
    # -222 is "Data out of range" (SCPI 1999.0, 21.8; from memory)
    scope.queue.append('-222,"Data out of range"')
    return right if line != "SYSTem:ERRor?" else scope.queue.pop(0)


def garbage(scope, line, right):
    return b"*garbage*" if isinstance(right, bytes) else None if right is None else "*garbage*"


def a_length_that_lies(scope, line, right):
    return b"#19" + bytes(TRUE) if isinstance(right, bytes) else "*garbage*" if right is not None else None


def an_empty_block(scope, line, right):
    return b"#10\n" if isinstance(right, bytes) else "" if right is not None else None


FAULTS = (unplugged, an_entry_in_its_queue, garbage, a_length_that_lies, an_empty_block)
#: *CLS and its queue; three times arm, *OPC?, data, each with its queue, and once the interval with its queue
LINES = 2 + 3 * 6 + 2


def watched(scope, takes=3):
    """The samples of so many takes, and what ended them."""
    got, pieces = [], 0
    try:
        source = ScopeSource(Oscilloscope(scope, Profile()), "invented")
        for piece in source.pieces():
            if isinstance(piece, SamplePiece):
                got += piece.samples.tolist()
                pieces += 1
            if pieces == takes - 1:  # the first take is for the rate
                break
    except InputError as reason:
        return got, reason
    return got, None


def test_the_dialogue_without_a_fault_has_so_many_lines():
    scope = Scope()
    assert watched(scope) == (TRUE * 2, None)
    assert scope.count == LINES


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_a_fault_at_any_line_is_said_and_gives_no_wrong_sample(fault):
    for at in range(1, LINES + 1):
        scope = Scope(at, fault)
        got, reason = watched(scope)
        assert got == TRUE * (len(got) // 4), f"line {at}"
        said_nothing = scope.count >= at and reason is None
        # a command has no answer to be garbled; what it answered to that is all it could do
        harmless = fault in (garbage, a_length_that_lies, an_empty_block) and at in COMMANDS
        assert not said_nothing or harmless, f"line {at} of {fault.__name__} passed without a word"


#: lines that are commands: *CLS, and each arming
COMMANDS = (1, 3, 11, 17)


def test_an_instrument_that_cannot_be_opened_leaves_no_link_open(monkeypatch):
    scope = Scope(5, unplugged)
    monkeypatch.setattr(oscilloscope, "VisaLink", lambda *_: scope)
    with pytest.raises(InputError):
        oscilloscope.open_source(Asked(where="invented"))
    assert scope.closed == 1


def test_a_queue_full_of_nonsense_is_told_in_a_few_words():
    class Nonsense(Scope):
        def ask(self, query):
            return "x" * 1000 if query == "SYSTem:ERRor?" else super().ask(query)

    _, reason = watched(Nonsense())
    assert "and 17 more" in str(reason)
    assert len(str(reason)) < 500


class SerialPort:
    """A made-up port: bytes come in chunks; then it is pulled out."""

    def __init__(self, *chunks):
        self.chunks, self.rest, self.closed = list(chunks), b"", False

    @property
    def in_waiting(self):
        return len(self.rest)

    @property
    def cts(self):
        if not self.chunks:
            raise OSError("device disconnected")
        return bool(self.chunks.pop(0))

    def read(self, count):
        if not self.rest and count:
            if not self.chunks:
                raise OSError("device disconnected")
            self.rest = self.chunks.pop(0)
        data, self.rest = self.rest[:count], self.rest[count:]
        return data

    def close(self):
        self.closed = True


def test_a_receiver_pulled_out_is_said_after_all_that_came(monkeypatch):
    port = SerialPort(b"\x01\x02", b"", b"\xff", b"\x1f")
    monkeypatch.setattr(serial_text.serial_ports, "open_port", lambda name, **how: port)
    source = serial_text.open_source(Asked(where="port", baud=50.0))
    pieces, reason = until_it_fails(source)
    source.close()
    assert [code for piece in pieces for code in piece.codes] == ["10000", "01000", "", "11111"]
    assert "device disconnected" in str(reason)
    assert port.closed


def until_it_fails(source):
    """All pieces, and why there are no more."""
    pieces = []
    try:
        for piece in source.pieces():
            pieces.append(piece)
    except InputError as reason:
        return pieces, reason
    return pieces, None


def test_a_control_input_pulled_out_is_said_after_all_that_came(monkeypatch):
    port = SerialPort(*([1] * 40 + [0] * 40))
    monkeypatch.setattr(control_line.serial_ports, "open_port", lambda name, **how: port)
    monkeypatch.setattr(control_line, "PIECE_S", 0.002)
    source = control_line.open_source(Asked(where="port"))
    pieces, reason = until_it_fails(source)
    source.close()
    assert [high for piece in pieces for high in piece.level_after.tolist()] == [False]
    assert "device disconnected" in str(reason)


def test_a_control_input_that_is_closed_ends_without_a_word(monkeypatch):
    monkeypatch.setattr(control_line.serial_ports, "open_port", lambda name, **how: SerialPort(*[1] * 10**6))
    source = control_line.open_source(Asked(where="port"))
    pieces = source.pieces()
    assert isinstance(next(pieces), EdgePiece)
    source.close()
    assert until_it_fails(source)[1] is None
    assert all(isinstance(piece, EdgePiece) for piece in pieces)


class SoundInput:
    """A made-up sound library with one input: some blocks, then nothing more."""

    def __init__(self, *, stays_active):
        self.active, self.stays_active = True, stays_active

    def query_devices(self, *_, **__):
        return [{"name": "line in", "max_input_channels": 1, "max_output_channels": 0}]

    def InputStream(self, *, blocksize, callback, **_):  # noqa: N802
        def play():
            for n in range(3):
                callback(np.full((blocksize, 1), n, np.int16), blocksize, None, None)
            self.active = self.stays_active

        self.start = threading.Thread(target=play).start
        self.stop = self.close = lambda: None
        return self


@pytest.mark.parametrize("stays_active", [False, True], ids=["stopped", "silent"])
def test_a_sound_input_pulled_out_is_said_after_all_that_came(monkeypatch, stays_active):
    monkeypatch.setattr(sound_card.importlib, "import_module", lambda name: SoundInput(stays_active=stays_active))
    monkeypatch.setattr(sound_card, "LONGEST_SILENCE_S", 0.2)
    monkeypatch.setattr(sound_card, "LOOK_S", 0.05)
    pieces, reason = until_it_fails(sound_card.open_source(Asked()))
    assert [n for piece in pieces for n in piece.samples.tolist()] == [0] * 480 + [1] * 480 + [2] * 480
    assert "still plugged in" in str(reason)


def test_a_sound_input_that_is_refused_is_a_reason_with_a_remedy(monkeypatch):
    def refuses(**_):
        raise RuntimeError("Invalid sample rate [-9997]")

    library = SimpleNamespace(InputStream=refuses, query_devices=SoundInput(stays_active=True).query_devices)
    monkeypatch.setattr(sound_card.importlib, "import_module", lambda name: library)
    with pytest.raises(InputError, match="96000 Hz"):
        sound_card.open_source(Asked(rate_hz=96_000.0))


class Failing:
    """A source that fails after some pieces."""

    what, rate_hz, suspicions, whole_file = "made up", None, (), None

    def pieces(self):
        yield CodePiece(("11000", "01010"))
        raise TIMEOUT

    def close(self): ...


def test_a_source_that_fails_ends_a_watch_like_any_other_end_and_says_why():
    watch = Watch(Failing(), LiveLine(LineSettings(alphabet=ITA2)))
    shown = [moment.event.shown for moment in watch.moments(Until()) if moment.event is not None]
    assert len(shown) == 2
    assert watch.failed is TIMEOUT
