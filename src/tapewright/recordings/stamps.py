r"""Stamped edges: what a microcontroller writes that stamps each change of a line with its own clock.

    tapewright stamps 1                 first line, then the head: name and value
    rate 1000000                        ticks a second (must be there)
    wrap 4294967296                     the counter begins anew after so many ticks; without it, never
    level 1                             level at the beginning, 1 or 0 (must be there)
    begin                               end of the head; `begin binary` for the short form
    12345 0                             at this tick the line went to 0
    12987 1
    . 20000                             nothing else up to here: at least every tenth of a second
    lost 3 20500                        so many changes were lost up to here, where the line stands at the last level
    gap 90000 1                         the line was not seen up to here, where it stands at 1

A blank ends a word, a line feed (or both) a line, # begins a remark. In the short form a record is one number, or two:
ticks since the record before times 8, plus 0 or 1 (the level), 2 (nothing else), 3 (lost; their number follows), 4 or 5
(gap, level 0 or 1); each number in groups of seven bits, the lowest first, the eighth bit set in all but the last
(LEB128, as the DWARF standard has it; from memory).

Times are the clock's own: when the bytes arrive says nothing. An edge lies within its tick: u = tick / sqrt 12
(JCGM 100:2008, 4.3.7).
"""

import math
import re
from dataclasses import dataclass, field
from typing import Literal

from tapewright.errors import InputError
from tapewright.recordings.capture import Suspicion

FIRST = b"tapewright stamps 1"
LONGEST_LINE, LONGEST_NUMBER = 200, 10
#: a stream that tells nothing for so many bytes is none of ours
LOST_PATIENCE = 4096
SLOWEST_HZ, FASTEST_HZ = 1_000.0, 1e10
LOST = 3
SHORT_KINDS: dict[int, tuple[Literal["edge", "still", "gap"], bool | None]] = {
    0: ("edge", False), 1: ("edge", True), 2: ("still", None), LOST: ("gap", None), 4: ("gap", False), 5: ("gap", True),
}  # fmt: skip
LOST_THERE, NOT_SEEN = "{} edges were lost, it says", "it says that it did not see the line"
UNREAD = "stamps could not be read"
_RECORD = re.compile(rb"(?:(?P<at>\d+) (?P<to>[01])|\. (?P<still>\d+)|lost (?P<lost>\d+) (?P<lost_at>\d+)"
                     rb"|gap (?P<gap_at>\d+) (?P<gap_to>[01]))")  # fmt: skip
DO = "docs/reference/stamped-edges.md tells the form; is it the right port, and its baud rate?"


@dataclass(frozen=True, slots=True)
class Stamp:
    """One thing that the stream tells.

    Attributes:
        kind: an edge, nothing else up to a time, or a gap up to a time.
        at_s: that time, since the first tick.
        high: level from then on; None where it is not told.
        why: what made the gap.
    """

    kind: Literal["edge", "still", "gap"]
    at_s: float
    high: bool | None = None
    why: str = ""


@dataclass(slots=True)
class Stamps:
    """Takes bytes, however they are cut, and returns what they tell.

    Attributes:
        source: name for errors.
        rate_hz: ticks a second; 0 until the head was read.
        starts_high: level at the beginning.
        garbled: lines that were none: noise, a wrong baud rate, two senders on one port.
        backward: times that lay before the one before.
    """

    source: str
    rate_hz: float = 0.0
    starts_high: bool = True
    garbled: int = 0
    backward: int = 0
    _wrap: int = 0
    _short: bool = False
    _begun: bool = False
    _held: bytearray = field(default_factory=bytearray)
    _head: dict[str, str] = field(default_factory=dict)
    _missed: bool = False
    _first_tick: int | None = None
    _turns: int = 0
    _last_tick: int = 0

    @property
    def u_s(self) -> float:
        """Standard uncertainty of an edge."""
        return 1 / self.rate_hz / math.sqrt(12)

    @property
    def suspicions(self) -> tuple[Suspicion, ...]:
        """Say what came garbled, and whether the clock went back."""
        out = []
        if self.garbled:
            evidence = f"{self.garbled} stamps could not be read"
            do = "Look at the baud rate, the cable, and whether two programs write to one port."
            out.append(Suspicion(suspicion="garbled stamps", evidence=evidence, do=do))
        if self.backward:
            evidence = f"{self.backward} stamps lay before the one before"
            do = "If its counter begins anew, say `wrap` in its head."
            out.append(Suspicion(suspicion="a clock that goes back", evidence=evidence, do=do))
        return tuple(out)

    def end(self) -> None:
        """Say that nothing more comes.

        Raises:
            InputError: when the head was not whole.
        """
        if not self._begun:
            raise self._no("a whole head, up to `begin`", "the end")

    def feed(self, data: bytes) -> list[Stamp]:
        """Take the next bytes.

        Raises:
            InputError: when the head is none, or nothing that comes can be read.
        """
        self._held += data
        out: list[Stamp] = []
        while not self._begun:
            line = self._line()
            if line is None:
                if len(self._held) > LONGEST_LINE:
                    raise self._no("the head of stamped edges", repr(bytes(self._held[:24])))
                return out
            self._take_head(line)
        if self._short:
            return out + self._records()
        while (line := self._line()) is not None:
            out += self._told(line)
        if len(self._held) > LOST_PATIENCE:
            raise self._no("lines of stamped edges", f"{len(self._held)} bytes without a line's end")
        return out

    def _line(self) -> bytes | None:
        end = self._held.find(b"\n")
        if end < 0:
            return None
        line = bytes(self._held[:end])
        del self._held[: end + 1]
        return line.partition(b"#")[0].strip()

    def _take_head(self, line: bytes) -> None:
        if not line:
            return
        if not self._head:
            if line.lower() != FIRST:
                raise self._no(f'"{FIRST.decode()}"', repr(line[:24]))
            self._head["first"] = "1"
            return
        name, _, value = line.decode("ascii", "replace").lower().partition(" ")
        if name != "begin":
            self._head[name] = value.strip()
            return
        self._short = value.strip() == "binary"
        self.rate_hz = self._number("rate", SLOWEST_HZ, FASTEST_HZ)
        self._wrap = int(self._number("wrap", 256, 2.0**64)) if "wrap" in self._head else 0
        self.starts_high = bool(self._number("level", 0, 1))
        self._begun = True

    def _number(self, name: str, least: float, most: float) -> float:
        text = self._head.get(name, "")
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not least <= value <= most:
            raise self._no(f"{name}, a number from {least:g} to {most:g}", repr(text[:24]) if text else "none")
        return value

    def _told(self, line: bytes) -> list[Stamp]:
        if not line:
            return []
        found = _RECORD.fullmatch(line)
        if found is None:
            self.garbled, self._missed = self.garbled + 1, True
            return []
        if found["at"]:
            return self._stamp("edge", int(found["at"]), found["to"] == b"1")
        if found["still"]:
            return self._stamp("still", int(found["still"]))
        if found["lost"]:
            return self._stamp("gap", int(found["lost_at"]), None, LOST_THERE.format(int(found["lost"])))
        return self._stamp("gap", int(found["gap_at"]), found["gap_to"] == b"1", NOT_SEEN)

    def _stamp(
        self, kind: Literal["edge", "still", "gap"], tick: int, high: bool | None = None, why: str = ""
    ) -> list[Stamp]:
        """Return a stamp at a tick of the counter, which may have begun anew.

        After what could not be read, or a clock that goes back, the line was not seen up to the next edge.
        """
        if self._first_tick is None:
            self._first_tick = self._last_tick = tick
        if tick < self._last_tick and self._wrap and self._last_tick - tick > self._wrap // 2:
            self._turns += 1
        elif tick < self._last_tick:
            self.backward, self._missed = self.backward + 1, True
            return []
        self._last_tick = tick
        at_s = (tick - self._first_tick + self._turns * self._wrap) / self.rate_hz
        if self._missed:
            if kind == "still":
                return []
            self._missed = False
            return [Stamp("gap", at_s, high, UNREAD)]
        return [Stamp(kind, at_s, high, why)]

    def _records(self) -> list[Stamp]:
        """Take whole records of the short form."""
        out = []
        while (number := self._leb128(0)) is not None:
            value, used = number
            what, why = value & 7, ""
            if what == LOST:
                more = self._leb128(used)
                if more is None:
                    break
                why, used = LOST_THERE.format(more[0]), more[1]
            del self._held[:used]
            tick = (value >> 3) + (0 if self._first_tick is None else self._last_tick)
            if what not in SHORT_KINDS:
                self.garbled, self._missed, self._last_tick = self.garbled + 1, True, tick
                continue
            name, high = SHORT_KINDS[what]
            out += self._stamp(name, tick, high, why or (NOT_SEEN if name == "gap" else ""))
        return out

    def _leb128(self, begin: int) -> tuple[int, int] | None:
        value = 0
        for n, byte in enumerate(self._held[begin : begin + LONGEST_NUMBER]):
            value |= (byte & 127) << (7 * n)
            if byte < 128:
                return value, begin + n + 1
        if len(self._held) - begin >= LONGEST_NUMBER:
            raise self._no(f"a number of at most {LONGEST_NUMBER} bytes", "a longer one")
        return None

    def _no(self, expected: str, found: str) -> InputError:
        return InputError(self.source, expected=expected, found=found, do=DO)
