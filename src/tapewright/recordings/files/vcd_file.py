"""VCD: value change dump, IEEE 1364-2005 clause 18, as logic analysers and simulators write it."""

import re
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import BinaryIO

import numpy as np

from tapewright.errors import InputError
from tapewright.recordings.capture import FloatArray, RawEdges, Recording
from tapewright.recordings.edges.change_list import edges_of_changes, edges_of_held_values, is_two_valued
from tapewright.recordings.files.options import Options, pick_channels
from tapewright.recordings.files.tables import with_guessed_unit
from tapewright.recordings.files.vcd_changes import PIECE, ChangeReader, pieces_of, wanted_bits
from tapewright.recordings.files.vcd_header import Header, channel_names, read_header

NAME = "vcd"
LABEL, NEEDS_RATE = "VCD", False
WHAT = "VCD value change dump (IEEE 1364): wires, vectors bit by bit, reals, x and z, any time scale"

_WORD = re.compile(rb"[^\x00-\x20]+")
_KEYWORDS = (b"$date", b"$version", b"$timescale", b"$comment", b"$scope", b"$var", b"$enddefinitions", b"$dumpvars")


def looks_like(head: bytes) -> bool:
    """Return whether `head` is the beginning of a VCD file: its first word is one of the standard's keywords."""
    words = head.removeprefix(b"\xef\xbb\xbf")[:4096].split(maxsplit=1)
    return bool(words) and words[0] in _KEYWORDS


def read(path: Path, options: Options) -> tuple[Recording, ...]:
    """Read every channel, or the one asked for."""
    with path.open("rb") as file:
        words = _Words(file)
        header = read_header(words, path.name)
        names = channel_names(header.signals)
        if not names:
            raise InputError(path.name, place="header", expected="at least one $var", found="none")
        chosen = pick_channels(names, options.channel, path.name)
        signals, bits = wanted_bits(header.signals, chosen)
        reader = ChangeReader(signals, bits, path.name)
        size, done = max(1, path.stat().st_size), 0
        for piece in pieces_of(file, words.rest()):
            reader.feed(piece)
            done += len(piece)
            if options.progress:
                options.progress(min(1.0, done / size))
    return _recordings(reader, header, names, chosen)


class _Words(Iterator[bytes]):
    """The words of the declarations; what follows them stays unread."""

    def __init__(self, file: BinaryIO) -> None:
        self._file = file
        self._words: Iterator[bytes] = iter(())
        self._text = b""
        self._used = 0

    def __next__(self) -> bytes:
        while True:
            word = _WORD.search(self._text, self._used)
            if word is not None and word.end() < len(self._text):
                self._used = word.end()
                return word.group()
            more = self._file.read(PIECE)
            if not more:
                self._used = len(self._text)
                if word is None:
                    raise StopIteration
                return word.group()
            self._text, self._used = self._text[self._used :] + more, 0

    def rest(self) -> bytes:
        """Return what was read of the file but not used."""
        return self._text[self._used :]


def _recordings(reader: ChangeReader, header: Header, names: list[str], chosen: list[int]) -> tuple[Recording, ...]:
    tick_s = header.tick_s or 1.0
    begin_tick = reader.first_tick or 0
    stated = reader.stated_at_begin or _all_at(reader, begin_tick)
    made = []
    for number, changes in zip(chosen, chain.from_iterable(reader.changes), strict=True):
        ticks, values = changes.joined()
        edges = _edges(ticks, values, tick_s, begin_tick, reader.tick, stated)
        recording = Recording(edges, "vcd", names[number], tuple(names), int(ticks.size), None)
        made.append(with_guessed_unit(recording) if header.tick_s is None else recording)
    return tuple(made)


def _all_at(reader: ChangeReader, tick: int) -> bool:
    """Return whether several channels all get their first value at one time: then that is the state, not a change."""
    first = [changes.joined()[0][:1] for per_signal in reader.changes for changes in per_signal]
    return len(first) > 1 and all(ticks.size and ticks[0] == tick for ticks in first)


def _edges(ticks: np.ndarray, values: FloatArray, tick_s: float, begin: int, end: int, stated: bool) -> RawEdges:
    """Make edges in seconds; the recording lasts to the last time in the file."""
    make = edges_of_changes if is_two_valued(values) else edges_of_held_values
    return make(
        ticks * tick_s,
        values,
        quantum_s=tick_s,
        begin_s=begin * tick_s,
        end_s=max(end, begin) * tick_s,
        first_is_state=True if stated and ticks.size and int(ticks[0]) == begin else None,
    )
