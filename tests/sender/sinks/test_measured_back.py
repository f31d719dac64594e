"""What is sent, read back by the measuring code: distortion as asked within 0.5 per cent of a unit."""

import json
import os
import select
import sys
import threading
import wave

import numpy as np
import pytest
from scipy.signal import hilbert

from fakes.sound_output import BreakPort, SoundOutput, Ticking
from tapewright.alphabets import ITA2
from tapewright.errors import InputError
from tapewright.message.test_texts import pattern
from tapewright.practice.keying import Keying
from tapewright.sender.compose import Sender
from tapewright.sender.send import send_signal, transmit
from tapewright.sender.sinks import serial_sink, sound_sink
from tapewright.sender.sinks.asked import Asked
from tapewright.terminal.run import run

CASES = [
    Sender(),
    Sender(bias_percent=20),
    Sender(bias_percent=-15, end_percent=10, baud=50),
    Sender(end_percent=-25, speed_error_percent=1.5, baud=74.2),
    Sender(bias_percent=8, scatter_percent=2, speed_error_percent=-2, baud=75, stop_units=1.5),
    Sender(bias_percent=5, end_percent=5, baud=100),
]
TOLERANCE = 0.5  # per cent of a unit: the floor


def signal(sender, seed=3):
    # scatter is chance: enough characters that its mean does not show
    return transmit(pattern("all-codes", ITA2, 480 if sender.scatter_percent else 96), sender, Keying(), seed)


def read_back(capsys, file, sender):
    capsys.readouterr()
    run(["line", "read", str(file), "--nominal", f"{sender.exact_baud:.9f}", "--json"])
    return json.loads(capsys.readouterr().out)


def check(found, sender):
    distortion, speed = found["distortion"], found["speed"]
    # bias, end and scatter are asked in units of the machine's own speed, and read in those of the nominal
    scale = 1 + sender.speed_error_percent / 100
    assert distortion["marking_bias_percent"]["value"] * scale == pytest.approx(sender.bias_percent, abs=TOLERANCE)
    assert distortion["end_percent"]["value"] * scale == pytest.approx(sender.end_percent, abs=TOLERANCE)
    assert distortion["scatter_percent"]["value"] == pytest.approx(sender.scatter_percent, abs=TOLERANCE)
    assert speed["error_percent"]["value"] == pytest.approx(sender.speed_error_percent, abs=TOLERANCE / 6 + 0.05)


def write_wav(file, samples, rate):
    with wave.open(str(file), "wb") as out:
        out.setparams((1, 2, rate, 0, "NONE", "not compressed"))
        out.writeframes(samples.astype("<i2").tobytes())


def write_edges(file, times, marks):
    rows = "\n".join(f"{t:.9f},{int(m)}" for t, m in zip(times, marks, strict=True))
    file.write_text(f"time (s),line\n{rows}\n")


@pytest.fixture
def output(monkeypatch):
    made = SoundOutput()
    monkeypatch.setitem(sys.modules, "sounddevice", made)
    return made


@pytest.mark.parametrize("sender", CASES)
def test_baseband_through_a_sound_output(capsys, tmp_path, output, sender):
    delivered = send_signal(signal(sender), sender, sound_sink.open_sink(Asked()), lambda _: None).delivered
    write_wav(tmp_path / "loop.wav", output.samples, 48_000)
    check(read_back(capsys, tmp_path / "loop.wav", sender), sender)
    assert output.closed
    assert "baseband" in delivered.how


@pytest.mark.parametrize("sender", CASES[1:4])
@pytest.mark.parametrize("turned", [False, True])
def test_keyed_tone_through_a_sound_output(capsys, tmp_path, output, sender, turned):
    """Once the envelope is taken by a general library's analytic signal, once by `line read` itself."""
    asked = Asked(tone_hz=3000.0, turned=turned)
    send_signal(signal(sender), sender, sound_sink.open_sink(asked), lambda _: None)
    write_wav(tmp_path / "loop.wav", output.samples, 48_000)
    check(read_back(capsys, tmp_path / "loop.wav", sender), sender)
    envelope = np.abs(hilbert(output.samples.astype(float)))
    on = envelope > np.percentile(envelope, 99) / 2
    at = np.flatnonzero(on[1:] != on[:-1]) + 1
    write_edges(tmp_path / "tone.csv", np.append(0, at) / 48_000, np.append(on[0], on[at]) != turned)
    check(read_back(capsys, tmp_path / "tone.csv", sender), sender)


@pytest.mark.parametrize("sender", CASES)
def test_timed_breaks(capsys, tmp_path, monkeypatch, sender):
    clock = Ticking()
    port = BreakPort(clock)
    monkeypatch.setattr(serial_sink.SerialSink, "_open", lambda self, baud: setattr(self, "_port", port))
    sink = serial_sink.SerialSink(Asked(where="made-up", by="break"), clock)
    delivered = send_signal(signal(sender), sender, sink, lambda _: None).delivered
    times, spaces = zip(*port.changes[:-1], strict=True)  # the last is the line left at rest
    write_edges(tmp_path / "breaks.csv", np.array(times) - times[0], ~np.array(spaces))
    check(read_back(capsys, tmp_path / "breaks.csv", sender), sender)
    assert port.closed
    assert not port.break_condition
    assert delivered.jitter_ms.value < 0.01


def test_the_jitter_stated_is_the_jitter_there_is(monkeypatch):
    """Half-normal lateness of a call, sd s: its standard deviation is s sqrt(1 - 2 / pi), half of it seen at midway."""
    clock = Ticking(seed=4)
    port = BreakPort(clock, scatter_s=0.4e-3)
    monkeypatch.setattr(serial_sink.SerialSink, "_open", lambda self, baud: setattr(self, "_port", port))
    sender = Sender(bias_percent=10)
    sink = serial_sink.SerialSink(Asked(where="made-up"), clock)
    transmission = signal(sender)
    delivered = send_signal(transmission, sender, sink, lambda _: None).delivered
    # truth: when the port changed, by the port's own note, against when it was due
    done = np.array([t for t, _ in port.changes[1:-1]])
    late = done - transmission.line.times_s
    assert delivered.jitter_ms.value == pytest.approx(1000 * 0.4e-3 * np.sqrt(1 - 2 / np.pi) / 2, rel=0.1)
    assert delivered.jitter_ms.value == pytest.approx(1000 * late.std() / 2, rel=0.1)
    assert any("too rough" in note for note in delivered.notes) == (delivered.jitter_ms.value / 22 > 0.005)


def test_breaks_by_the_computers_own_clock(monkeypatch):
    """A few characters in real time: what is stated fits what an independent note of the clock says."""
    import time

    noted = []

    class Port:
        def close(self): ...

        def reset_output_buffer(self): ...

        def __setattr__(self, name, value):
            noted.append((time.perf_counter(), value))

    port = Port()
    monkeypatch.setattr(serial_sink.SerialSink, "_open", lambda self, baud: setattr(self, "_port", port))
    sender = Sender(baud=100, bias_percent=20)
    transmission = transmit(["10101", "01010"], sender, Keying(lead_s=0.02, tail_s=0.02), 1)
    delivered = send_signal(transmission, sender, serial_sink.SerialSink(Asked(where="x")), lambda _: None).delivered
    late = np.array([t for t, _ in noted[1:-1]]) - noted[0][0] - transmission.line.times_s
    assert np.all(late > -1e-3), "never before it is due"
    assert delivered.latest_ms == pytest.approx(1000 * late.max(), abs=0.5)


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
def test_text_by_uart_through_a_pseudo_terminal():
    """Bytes come out with element 1 in bit 0: what a UART sends first (practice of UARTs; from memory for the rest)."""
    master, slave = os.openpty()
    sender = Sender(baud=50)
    transmission = signal(sender)
    got = bytearray()

    def listen():
        while len(got) < len(transmission.sent) and select.select([master], [], [], 20)[0]:
            got.extend(os.read(master, 4096))

    # read beside the sending: what a pseudo-terminal still holds when its port is closed is thrown away
    listener = threading.Thread(target=listen)
    listener.start()
    try:
        sink = serial_sink.open_sink(Asked(where=os.ttyname(slave)))
        delivered = send_signal(transmission, sender, sink, lambda _: None).delivered
        listener.join()
    finally:
        os.close(master)
        os.close(slave)
    by_bits = ["".join(str(byte >> k & 1) for k in range(5)) for byte in got]
    assert by_bits == list(transmission.sent)
    assert (delivered.baud, "UART" in delivered.how) == (50, True)


def test_a_rate_a_port_cannot_take_is_said():
    sender = Sender()
    master, slave = os.openpty()
    try:
        sink = serial_sink.open_sink(Asked(where=os.ttyname(slave)))
        delivered = send_signal(signal(sender), sender, sink, lambda _: None).delivered
    finally:
        os.close(master)
        os.close(slave)
    assert delivered.baud == 45
    assert "-1.00 %" in delivered.notes[0]


def test_a_dry_output_is_said(output):
    output.dry_at = {2, 5}
    sender = Sender()
    delivered = send_signal(signal(sender), sender, sound_sink.open_sink(Asked()), lambda _: None).delivered
    assert "ran dry 2 times" in delivered.notes[0]


def test_sinks_without_their_library_are_listed_with_the_remedy(monkeypatch):
    from tapewright.sender.sinks.sinks import on_offer

    monkeypatch.setitem(sys.modules, "sounddevice", None)
    monkeypatch.setitem(sys.modules, "serial", None)
    offers = {o.kind: o for o in on_offer()}
    assert "pip install" in offers["sound"].unavailable
    assert "pip install" in offers["serial"].unavailable
    assert not offers["practice"].unavailable


@pytest.mark.parametrize("how", [KeyboardInterrupt, RuntimeError])
def test_stopped_half_way_the_line_is_left_at_rest(monkeypatch, how):
    clock = Ticking()
    port = BreakPort(clock)
    monkeypatch.setattr(serial_sink.SerialSink, "_open", lambda self, baud: setattr(self, "_port", port))
    sender = Sender(bias_percent=10)

    def stop(fraction):
        if fraction > 0.3 and port.break_condition:
            raise how

    with pytest.raises(how):
        send_signal(signal(sender), sender, serial_sink.SerialSink(Asked(where="x"), clock), stop)
    assert not port.break_condition, "mark"
    assert port.closed


class PulledOut:
    """A port or an output that is pulled out in the middle."""

    def __init__(self, good):
        self.good, self.closed, self.break_condition = good, False, True

    def write(self, data):
        self.good -= 1
        if self.good < 0:
            raise OSError("device disconnected")
        self.out_waiting = len(data)

    def reset_output_buffer(self):
        raise OSError("device disconnected")

    def stop(self): ...

    def close(self):
        self.closed = True
        raise OSError("device disconnected")


def test_a_serial_port_pulled_out_half_way_is_said(monkeypatch):
    port, sender = PulledOut(1), Sender(stop_units=1.5)

    def gone(fraction):
        raise OSError("device disconnected")

    monkeypatch.setattr(serial_sink.SerialSink, "_open", lambda self, baud: setattr(self, "_port", port))
    with pytest.raises(InputError, match=r"serial port x: .*device disconnected.*plugged in"):
        send_signal(signal(sender), sender, serial_sink.SerialSink(Asked(where="x", by="uart")), gone)
    assert port.closed


def test_a_sound_output_pulled_out_half_way_is_said(monkeypatch):
    output, sender = PulledOut(2), Sender()
    monkeypatch.setattr(sound_sink.SoundSink, "_open", lambda self, rate: setattr(self, "_stream", output))
    output.close = lambda: setattr(output, "closed", True)
    with pytest.raises(InputError, match="device disconnected"):
        send_signal(signal(sender), sender, sound_sink.open_sink(Asked()), lambda _: None)
    assert output.closed
