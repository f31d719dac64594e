r"""The keeper of a supply: a process of its own that holds the link, and switches off when nobody is left to say so.

    program  --calls, a sign of life twice a second-->  keeper  --SCPI-->  supply
       x killed, hung, its terminal closed              still there: off, asked back, again, until it is off

It ends only when the supply has said that its output is off, or when a person ends the process. What it is told comes
as one JSON list a line on its standard input, `[number, what, *with]`. It answers `[number, "ok", value]` or
`[number, "refused" | "lost", words]`, to a start that fails `[0, "unread", found, expected, place, do]`, and while it
tries to switch off `[number, "trying", seconds, words]`.
"""

import contextlib
import json
import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable
from typing import TextIO

from tapewright.errors import InputError, TapewrightError
from tapewright.furniture.stop_signals import STOPS
from tapewright.motor.guarded_supply import Supply, SupplyRefusedError
from tapewright.motor.supplies.visa_link import LostLinkError

#: without a sign of life for so long the output is switched off; signs come so often
SILENT_S, ALIVE_EVERY_S = 3.0, 0.5
#: between two tries to switch off: at first, at most
FIRST_PAUSE_S, LONGEST_PAUSE_S = 0.1, 2.0
ALIVE, OFF, LEAVE = "alive", "make_off", "leave"
SILENCE = f"no sign of life of the program for {SILENT_S:g} s: the output was switched off"
Answer = Callable[..., None]


class Keeper:
    """Does what it is told with a supply, and ends with the output off.

    Args:
        supply: the supply; nothing is switched on yet.
        told: what is told, None at the end of it.
        answer: sends an answer; must not raise.
    """

    def __init__(self, supply: Supply, told: "queue.Queue[list[object] | None]", answer: Answer) -> None:
        self._supply, self._told, self._answer = supply, told, answer
        self._silent = False
        self._calls: dict[str, Callable[..., object]] = {
            name: getattr(supply, name)
            for name in ("set_limit", "set_volts", "switch", "is_on", "get_limit", "measure", "reopen")
        }

    def run(self) -> None:
        """Serve until told to leave, or until nobody is there any more; the output is off then."""
        while True:
            try:
                message = self._told.get(timeout=SILENT_S)
            except queue.Empty:
                if not self._silent:
                    self._silent = self.make_off(0)
                continue
            if message is None:
                self.make_off(0)
                return
            number, what, *with_ = message
            if what == LEAVE:
                return
            if what == OFF:
                self.make_off(number)
            elif what != ALIVE:
                self._call(number, str(what), with_)

    def _call(self, number: object, what: str, with_: list[object]) -> None:
        if self._silent:
            self._answer(number, "refused", SILENCE)
            return
        try:
            self._answer(number, "ok", self._calls[what](*with_))
        except SupplyRefusedError as reason:
            self._answer(number, "refused", str(reason))
        except LostLinkError as reason:
            self._answer(number, "lost", reason.found)
        except Exception as reason:
            self._answer(number, "lost", f"{type(reason).__name__}: {reason}"[:160])

    def make_off(self, number: object) -> bool:
        """Switch off, ask back, connect anew, until the supply says that it is off."""
        begun, pause, tried = time.monotonic(), FIRST_PAUSE_S, 0
        while True:
            try:
                if tried:
                    self._supply.reopen()
                self._supply.switch(False)
                if not self._supply.is_on():
                    self._answer(number, "ok", True)
                    return True
                found = "it says that it is on"
            except Exception as reason:
                found = getattr(reason, "found", "") or str(reason) or type(reason).__name__
            tried += 1
            self._answer(number, "trying", time.monotonic() - begun, found)
            time.sleep(pause)
            pause = min(1.5 * pause, LONGEST_PAUSE_S)


def main() -> None:
    """Open the supply named on the first line and keep it."""
    from tapewright.motor.supplies.profile import read_profile
    from tapewright.motor.supplies.scpi_supply import ScpiSupply
    from tapewright.motor.supplies.visa_link import VisaLink

    for number in STOPS:  # these are meant for the program; it is who dies, this goes on to switch off
        with contextlib.suppress(ValueError, OSError):
            signal.signal(number, signal.SIG_IGN)
    answers = _own_output()
    where, name = json.loads(sys.stdin.readline())

    def answer(*words: object) -> None:
        with contextlib.suppress(OSError, ValueError):  # nobody listens any more: the work goes on
            print(json.dumps(words), file=answers, flush=True)

    try:
        profile = read_profile(name)
        supply = ScpiSupply(VisaLink(where, timeout_s=profile.timeout_s, ends=profile.ends), profile)
    except InputError as reason:
        answer(0, "unread", reason.found, reason.expected, reason.place, reason.do)
        return
    except TapewrightError as reason:
        answer(0, "refused", str(reason))
        return
    answer(0, "ok", supply.what)
    told: queue.Queue[list[object] | None] = queue.Queue()
    threading.Thread(target=_listen, args=(told,), daemon=True).start()
    try:
        Keeper(supply, told, answer).run()
    finally:
        supply.close()


def _own_output() -> TextIO:
    """Return what was standard output; what a library prints goes nowhere, for it is no answer."""
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    return answers


def _listen(told: "queue.Queue[list[object] | None]") -> None:
    with contextlib.suppress(OSError, ValueError):
        for line in sys.stdin:
            told.put(json.loads(line))
    told.put(None)


if __name__ == "__main__":
    main()
