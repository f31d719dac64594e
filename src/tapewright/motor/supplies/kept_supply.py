"""A programmable supply that a keeper holds: what is asked goes to the keeper's process, which outlives this one."""

import contextlib
import json
import os
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from typing import IO, Any

from tapewright.errors import InputError
from tapewright.motor.guarded_supply import SWITCH_IT_OFF, SupplyRefusedError
from tapewright.motor.supplies.keeper import ALIVE, ALIVE_EVERY_S, LEAVE, OFF
from tapewright.motor.supplies.profile import read_profile
from tapewright.motor.supplies.visa_link import EXAMPLE, LostLinkError

#: what a keeper may take over the time a supply may take to answer: its start, its own error queue
SLACK_S = 15.0
#: while the output will not go off: when that is said first, and how often again
SAID_AFTER_S, SAID_EVERY_S = 1.0, 10.0
#: Ctrl-C is not heard on the way to off until so long has passed
DEAF_S = 3.0
KEPT_ON = "A process of its own (number {}) goes on trying until it reads back that the output is off."


class KeptSupply:
    """A supply held by a keeper.

    Args:
        where: VISA address.
        profile: name or file of its words.

    Raises:
        InputError: when nothing answers there as a supply does.
    """

    def __init__(self, where: str, profile: str) -> None:
        self._where, self._profile = where, profile
        self._wait_s = 4 * read_profile(profile).timeout_s + SLACK_S
        self._start()

    def set_limit(self, amps: float) -> None:
        """Set the current limit."""
        self._ask("set_limit", amps)

    def set_volts(self, volts: float) -> None:
        """Set the voltage."""
        self._ask("set_volts", volts)

    def switch(self, on: bool) -> None:
        """Switch the output."""
        self._ask("switch", on)

    def is_on(self) -> bool:
        """Ask whether the output is on."""
        return bool(self._ask("is_on"))

    def get_limit(self) -> float:
        """Ask for the current limit set."""
        return float(self._ask("get_limit"))

    def measure(self) -> tuple[float, float]:
        """Measure volts and amperes at the output."""
        volts, amps = self._ask("measure")
        return float(volts), float(amps)

    def reopen(self) -> None:
        """Connect anew; start another keeper where the first has ended."""
        if self._process.poll() is None:
            self._ask("reopen")
        else:
            self._start()

    def close(self) -> None:
        """Let the keeper go once the output is off; one that still tries is left to it."""
        with contextlib.suppress(OSError, ValueError):
            self._send(LEAVE)
            self._input.close()

    def make_off(self, say: Callable[[str], None]) -> bool:
        """Have it switched off and read back, however long the link is away; Ctrl-C leaves that to the keeper.

        Returns:
            Whether it is known to be off.
        """
        begun, said = time.monotonic(), SAID_AFTER_S
        number: int | None = None
        while True:
            try:
                if number is None:
                    if self._process.poll() is not None:
                        self._start()
                    number = self._send(OFF)
                found = self._answer(number, 1.0)
                if found[1] == "ok":
                    return True
                if time.monotonic() - begun > said:
                    say(f"The supply does not go off yet ({found[-1]}): it is tried again. {SWITCH_IT_OFF}")
                    said += SAID_EVERY_S
            except queue.Empty:
                continue
            except (InputError, OSError):  # the keeper has ended, or a new one finds nothing yet
                number = None
                time.sleep(ALIVE_EVERY_S)
            except KeyboardInterrupt:
                if time.monotonic() - begun > DEAF_S:
                    say(KEPT_ON.format(self._process.pid))
                    return False

    def _start(self) -> None:
        beside: dict[str, Any] = (
            {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
            if os.name == "nt"
            else {"start_new_session": True}  # a terminal that closes, or its Ctrl-C, is not for the keeper
        )
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tapewright.motor.supplies.keeper"],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, **beside,
        )  # fmt: skip
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._input: IO[str] = self._process.stdin
        self._answers: queue.Queue[list[Any] | None] = queue.Queue()
        self._number, self._sending = 0, threading.Lock()
        threading.Thread(target=_read, args=(self._process.stdout, self._answers), daemon=True).start()
        self._write([self._where, self._profile])
        found = self._answer(0, self._wait_s)
        if found[1] == "unread":
            what, expected, place, do = found[2:]
            raise LostLinkError(self._where, expected=expected, found=what, place=place, do=do)
        if found[1] != "ok":
            raise SupplyRefusedError(str(found[2]))
        self.what = str(found[2])
        threading.Thread(target=self._live, args=(self._process,), daemon=True).start()

    def _live(self, process: "subprocess.Popen[str]") -> None:
        """Give a sign of life as long as this program lives."""
        with contextlib.suppress(OSError, ValueError):
            while process is self._process and process.poll() is None:
                self._send(ALIVE)
                time.sleep(ALIVE_EVERY_S)

    def _ask(self, what: str, *with_: object) -> Any:
        try:
            number = self._send(what, *with_)
        except (OSError, ValueError) as reason:
            raise self._lost("its keeper has ended") from reason
        try:
            _, state, *told = self._answer(number, self._wait_s)
        except queue.Empty as reason:
            raise self._lost("no answer in time") from reason
        if state == "refused":
            raise SupplyRefusedError(str(told[0]))
        if state != "ok":
            raise self._lost(str(told[0]))
        return told[0]

    def _send(self, what: str, *with_: object) -> int:
        with self._sending:
            self._number += 1
            number = self._number
        self._write([number, what, *with_])
        return number

    def _write(self, message: list[object]) -> None:
        with self._sending:
            self._input.write(json.dumps(message) + "\n")
            self._input.flush()

    def _answer(self, number: int, within_s: float) -> list[Any]:
        """Return the next answer to this number; older ones, of a question that was broken off, are passed over."""
        until = time.monotonic() + within_s
        while True:
            found = self._answers.get(timeout=max(0.0, until - time.monotonic()))
            if found is None:
                self._answers.put(None)
                raise self._lost("its keeper has ended")
            if found[0] == number:
                return found

    def _lost(self, found: str) -> LostLinkError:
        do = f"Is it switched on, and is the address right (for example {EXAMPLE})?"
        return LostLinkError(self._where, expected="an answer", found=found, do=do)


def _read(lines: IO[str], answers: "queue.Queue[list[Any] | None]") -> None:
    with contextlib.suppress(OSError, ValueError):
        for line in lines:
            answers.put(json.loads(line))
    answers.put(None)
