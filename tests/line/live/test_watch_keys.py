"""The drawn screen and its keys, on a pseudo-terminal: hold, trial, quit; the terminal is given back as it was."""

import os
import select
import subprocess
import sys
import time
from dataclasses import replace

import pytest

from tapewright.line.live.needles import Needle
from tapewright.line.live.watch_screen import RULERS_MS, Shown, lines_of, ruler
from tapewright.line.live.watch_tone import REFERENCE_HZ, pitch_hz, two_tones


def needle(late, low=None, high=None):
    return Needle(3, True, late, 0.01, 0.0, low, high, late, 20)


def test_a_ruler_shows_place_band_and_needle():
    drawn = ruler(needle(1.0, 0.5, 1.5), 2.0, width=41)
    assert len(drawn) == 41
    assert drawn[20] == "|"
    assert (drawn[25], drawn[30], drawn[35]) == ("[", "A", "]")
    # beyond the ends it stays on the ruler
    assert ruler(needle(99.0), RULERS_MS[0])[-1] == "A"


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20), (48, 20), (200, 60)])
def test_any_terminal_shows_what_was_keyed_last_the_numbers_and_the_question(width, height):
    shown = Shown("practice machine", 5, text="A" * 150 + "LAST", said=[f"{n} was said" for n in range(8)],
                  typing="screw B a quarter of a turn, and then the governor a notch up, TO THE LEFT")
    shown.needles = {(k, True): replace(needle(1.234), contact=k) for k in range(1, 7)}
    drawn = lines_of(shown, width, height)
    assert max(map(len, drawn)) <= width
    assert len(drawn) <= height
    assert sum("LAST" in line for line in drawn) == 1
    assert sum("+1.23" in line for line in drawn) == 6
    assert "LEFT_   (Enter marks it)" in drawn[-1]


def test_a_tone_is_an_octave_a_millisecond():
    assert pitch_hz(0.0) == REFERENCE_HZ
    assert pitch_hz(1.0) == pytest.approx(880.0)
    assert pitch_hz(-1.0) == pytest.approx(220.0)
    assert abs(two_tones(0.3)).max() < 0.5


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs pseudo-terminals")
def test_hold_trial_and_quit_on_a_terminal(tmp_path):
    import termios

    near, far = os.openpty()
    before = termios.tcgetattr(far)
    command = [sys.executable, "-m", "tapewright", "line", "watch", "--from", "practice", "--nominal", "45.45"]
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": "120", "LINES": "40"}
    started = subprocess.Popen(
        [*command, "--seconds", "60"], stdin=far, stdout=far, stderr=far, cwd=tmp_path, env=environment
    )
    seen = ""
    try:
        seen = _until(near, seen, "closes")
        os.write(near, b"h")
        seen = _until(near, seen, "HELD")
        os.write(near, b"ht")
        seen = _until(near, seen, "what did you turn?")
        os.write(near, b"screw B a quarter\r")
        seen = _until(near, seen, "trial 1: screw B a quarter")
        os.write(near, b"q")
        seen = _until(near, seen, "The whole watch")
        seen = _until(near, seen, "Verdicts")
        # whatever is left must not block its end
        deadline = time.monotonic() + 20
        while started.poll() is None and time.monotonic() < deadline:
            if select.select([near], [], [], 0.1)[0]:
                os.read(near, 65536)
        assert started.returncode in (0, 1, 3)
        assert termios.tcgetattr(far)[3] == before[3]
    finally:
        started.kill()
        started.wait()
        os.close(near)
        os.close(far)
    assert "Traceback" not in seen


def _until(near, seen, wanted, wait_s=60.0):
    """Read until `wanted` has been printed."""
    deadline = time.monotonic() + wait_s
    while wanted not in seen:
        assert time.monotonic() < deadline, f"{wanted!r} was not printed; the end was {seen[-2000:]!r}"
        if select.select([near], [], [], 0.2)[0]:
            seen += os.read(near, 65536).decode(errors="replace")
    return seen
