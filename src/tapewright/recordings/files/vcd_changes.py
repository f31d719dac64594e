r"""The value changes of a VCD file (IEEE 1364-2005, clause 18): a loop over words, and a quick way for one-bit wires.

Picture:

    #1200          the time from here on, in ticks
    1!             wire ! becomes 1
    b0101 "        vector " becomes 0101; shorter than its width: filled on the left with 0, x or z
    r1.25 #        real # becomes 1.25

Words are separated by any white space. A piece of text that holds nothing but times and one-bit changes is cut and
read by numpy, all words at once; any other piece word by word.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from tapewright.errors import InputError
from tapewright.recordings.files.vcd_header import Signal, bits_of

PIECE = 1 << 22
#: changes of the wanted channels held in memory, at the most
MOST_CHANGES = 25_000_000
MOST_DIGITS = 17
LONGEST_CODE = 7
_HASH, _NINE, _ZERO = ord("#"), ord("9"), ord("0")
#: value of a one-bit change by its letter; NaN is x or z
_LEVEL = np.full(256, np.inf)
for _letter, _value in ((b"0", 0.0), (b"1", 1.0), (b"xXzZuU", np.nan), (b"lL", 0.0), (b"hH", 1.0)):
    _LEVEL[list(_letter)] = _value


@dataclass(slots=True)
class Changes:
    """Changes of one channel: times in ticks and values, NaN for x and z."""

    ticks: list[npt.NDArray[np.int64]] = field(default_factory=list)
    values: list[npt.NDArray[np.float64]] = field(default_factory=list)

    def add_all(self, ticks: npt.NDArray[np.int64], values: npt.NDArray[np.float64]) -> None:
        """Add changes, in order."""
        self.ticks.append(ticks)
        self.values.append(values)

    def joined(self) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64]]:
        """Return all times and values."""
        if not self.ticks:
            return np.empty(0, np.int64), np.empty(0)
        return np.concatenate(self.ticks), np.concatenate(self.values)


@dataclass(slots=True)
class Words:
    """Changes of one signal as they were read word by word, to be turned into numbers many at a time."""

    ticks: list[int] = field(default_factory=list)
    values: list[str] = field(default_factory=list)

    def take(self) -> tuple[npt.NDArray[np.int64], list[str]]:
        """Return them, and begin anew."""
        ticks, values = np.array(self.ticks, np.int64), self.values
        self.ticks, self.values = [], []
        return ticks, values


def bits_of_words(words: Sequence[str], width: int) -> npt.NDArray[np.float64]:
    """Turn values such as 0101 into an array, shape (n, width), the rightmost bit last.

    What is missing on the left is 0, or x or z when that is the leftmost letter (IEEE 1364-2005, 18.2.2).
    """
    filled = [word[-width:].rjust(width, word[0] if word[:1] in ("x", "X", "z", "Z") else "0") for word in words]
    letters = np.frombuffer("".join(filled).encode("ascii", "replace"), np.uint8).reshape(-1, width)
    values = _LEVEL[letters]
    return np.where(np.isfinite(values), values, np.nan)


class ChangeReader:
    """Feed the text after the declarations, cut at white space; collects the changes of the wanted channels.

    Args:
        signals: the wanted signals.
        bits: for each, the bits wanted, counted from the right.
        source: the file's name.
    """

    def __init__(self, signals: Sequence[Signal], bits: Sequence[Sequence[int]], source: str) -> None:
        self.changes = [[Changes() for _ in wanted] for wanted in bits]
        self._words = [Words() for _ in signals]
        self.first_tick: int | None = None
        self.tick = 0
        self.stated_at_begin = False
        self._signals, self._bits, self._source = signals, bits, source
        self._number = {signal.code: number for number, signal in enumerate(signals)}
        self._skipping: bytes | None = None
        self._pending: bytes | None = None
        self._held = 0
        ordered = sorted((signal for signal in signals if len(signal.code) <= LONGEST_CODE), key=lambda s: _key(s.code))
        self._keys = np.array([_key(signal.code) for signal in ordered], np.uint64)
        self._of_key = np.array([self._number[signal.code] for signal in ordered], np.int64)

    def feed(self, text: bytes) -> None:
        """Take a piece."""
        plain = self._skipping is None and self._pending is None
        if not (plain and self._quick(text)):
            self._slow(text.split())
            self._settle()
        if self._held > MOST_CHANGES:
            raise InputError(
                self._source,
                expected=f"at most {MOST_CHANGES} changes",
                found="more",
                do="Name one signal with --channel, or cut the recording in parts.",
            )

    def _quick(self, text: bytes) -> bool:
        """Read a piece of times and one-bit changes with numpy; False when it holds anything else."""
        raw = np.frombuffer(text, np.uint8)
        word = raw > 32
        bounds = np.flatnonzero(np.diff(word, prepend=False, append=False))
        begin, end = bounds[::2], bounds[1::2]
        if not begin.size:
            return True
        head, length = raw[begin], end - begin
        is_time = head == _HASH
        level = _LEVEL[head]
        change = ~is_time
        if np.isinf(level[change]).any() or (length[change] < 2).any() or (length[change] > LONGEST_CODE + 1).any():
            return False
        ticks = _numbers(raw, begin[is_time] + 1, length[is_time] - 1)
        if ticks is None:
            return False
        current = np.concatenate([[self.tick], ticks])[np.cumsum(is_time)[change]]
        if ticks.size:
            self.first_tick = int(ticks[0]) if self.first_tick is None else self.first_tick
            self.tick = int(ticks[-1])
        self._sort_in(_keys(raw, begin[change] + 1, length[change] - 1), current, level[change])
        return True

    def _sort_in(
        self, keys: npt.NDArray[np.uint64], ticks: npt.NDArray[np.int64], values: npt.NDArray[np.float64]
    ) -> None:
        """Return each change to its channel."""
        if not self._keys.size:
            return
        place = np.minimum(np.searchsorted(self._keys, keys), self._keys.size - 1)
        mine = np.flatnonzero(self._keys[place] == keys)
        if not mine.size:
            return
        which = self._of_key[place[mine]]
        order = np.argsort(which, kind="stable")
        mine, which = mine[order], which[order]
        starts = np.flatnonzero(np.diff(which, prepend=-1))
        for begin, end in zip(starts.tolist(), [*starts[1:].tolist(), which.size], strict=True):
            number, part = int(which[begin]), mine[begin:end]
            for bit, changes in zip(self._bits[number], self.changes[number], strict=True):
                # a one-bit value for a vector fills it on the left: with 0, or with the x or z it is
                of_bit = values[part] if bit == 0 else np.where(np.isnan(values[part]), np.nan, 0.0)
                changes.add_all(ticks[part], of_bit)
                self._held += part.size

    def _slow(self, words: list[bytes]) -> None:
        """Read word by word."""
        for word in words:
            if self._skipping is not None:
                self._skipping = None if word == b"$end" else self._skipping
            elif self._pending is not None:
                self._take_vector(self._pending, word)
                self._pending = None
            else:
                self._take(word)

    def _take(self, word: bytes) -> None:
        head = word[:1]
        if head == b"#":
            if not word[1:].isdigit() or len(word) > MOST_DIGITS + 1:
                raise InputError(self._source, place="value changes", expected="#time", found=_shown(word))
            self.tick = int(word[1:])
            self.first_tick = self.tick if self.first_tick is None else self.first_tick
        elif head in b"bBrRsS":
            self._pending = word
        elif head == b"$":
            if word in (b"$comment", b"$vcdclose", b"$date", b"$version"):
                self._skipping = word
            elif word in (b"$dumpvars", b"$dumpall"):
                self.stated_at_begin = self.stated_at_begin or self.first_tick in (None, self.tick)
        elif np.isinf(_LEVEL[word[0]]):
            raise InputError(self._source, place="value changes", expected="a change such as 1!", found=_shown(word))
        elif word[1:] in self._number:
            self._note(self._number[word[1:]], word[:1].decode())

    def _take_vector(self, value: bytes, code: bytes) -> None:
        number = self._number.get(code)
        if number is not None and value[:1] not in b"sS":
            # a real keeps its letter, to be told from a vector
            text = value.decode("ascii", "replace")
            self._note(number, text if value[:1] in b"rR" else text[1:])

    def _note(self, number: int, value: str) -> None:
        self._words[number].ticks.append(self.tick)
        self._words[number].values.append(value)

    def _settle(self) -> None:
        """Turn the words of this piece into numbers."""
        for number, words in enumerate(self._words):
            if not words.ticks:
                continue
            ticks, values = words.take()
            wanted = self._bits[number]
            if any(value[:1] in ("r", "R") for value in values):
                self.changes[number][0].add_all(ticks, np.array([self._real(value) for value in values]))
            else:
                table = bits_of_words(values, max(wanted) + 1)
                for bit, changes in zip(wanted, self.changes[number], strict=True):
                    changes.add_all(ticks, table[:, -1 - bit].copy())
            self._held += ticks.size * len(wanted)

    def _real(self, value: str) -> float:
        try:
            return float(value[1:] if value[:1] in ("r", "R") else value)
        except ValueError as reason:
            found = _shown(value.encode())
            raise InputError(self._source, place="value changes", expected="a number after r", found=found) from reason


def _key(code: bytes) -> int:
    return int.from_bytes(code, "big")


def _keys(
    raw: npt.NDArray[np.uint8], begin: npt.NDArray[np.int64], length: npt.NDArray[np.int64]
) -> npt.NDArray[np.uint64]:
    """Pack codes of up to seven letters in one number each."""
    keys = np.zeros(begin.size, np.uint64)
    for k in range(int(length.max(initial=0))):
        here = length > k
        letter = raw[np.minimum(begin + k, raw.size - 1)].astype(np.uint64)
        keys = np.where(here, (keys << np.uint64(8)) | letter, keys)
    return keys


def _numbers(
    raw: npt.NDArray[np.uint8], begin: npt.NDArray[np.int64], length: npt.NDArray[np.int64]
) -> npt.NDArray[np.int64] | None:
    """Read whole numbers of up to 17 digits; None when there is anything else."""
    if not begin.size:
        return np.empty(0, np.int64)
    if length.min() < 1 or length.max() > MOST_DIGITS:
        return None
    numbers = np.zeros(begin.size, np.int64)
    for k in range(int(length.max())):
        here = length > k
        digit = raw[np.minimum(begin + k, raw.size - 1)].astype(np.int64) - _ZERO
        if ((digit < 0) | (digit > _NINE - _ZERO))[here].any():
            return None
        numbers = np.where(here, numbers * 10 + digit, numbers)
    return numbers


def _shown(word: bytes) -> str:
    return repr(word[:40].decode("utf-8", "replace"))


def pieces_of(file: BinaryIO, begun: bytes) -> Iterator[bytes]:
    """Return the rest of the file in pieces that end between two words; `begun` was read already."""
    left = begun
    while True:
        more = file.read(PIECE)
        if not more:
            if left:
                yield left
            return
        text = left + more
        cut = max(text.rfind(b"\n"), text.rfind(b" "), text.rfind(b"\t"), text.rfind(b"\r")) + 1
        if cut:
            yield text[:cut]
            left = text[cut:]
        elif len(text) > 16 * PIECE:
            yield text  # no word is that long; it will be refused
            left = b""
        else:
            left = text


def wanted_bits(signals: Sequence[Signal], chosen: Sequence[int]) -> tuple[list[Signal], list[list[int]]]:
    """Turn chosen channel numbers into signals and their bits."""
    wanted, bits = [], []
    chosen_set, number = set(chosen), 0
    for signal in signals:
        width = bits_of(signal)
        mine = [width - 1 - k for k in range(width) if number + k in chosen_set]
        number += width
        if mine:
            wanted.append(signal)
            bits.append(mine)
    return wanted, bits
