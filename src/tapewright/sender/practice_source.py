"""The practice machine in real time: types a text over and over, seen by a sound input of 48 000 samples a second."""

import time
from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, count
from pathlib import Path

import numpy as np

from tapewright.alphabets import ITA2, encode
from tapewright.errors import WrongUseError
from tapewright.message.test_texts import PANGRAM
from tapewright.practice.instrument import Instrument, record_in_pieces
from tapewright.practice.keying import Keying
from tapewright.practice.machines import MACHINES, at_unit
from tapewright.practice.transmitter import send
from tapewright.recordings.capture import Suspicion
from tapewright.recordings.live.asked import Asked
from tapewright.recordings.live.source import Piece, SamplePiece

KIND = "practice"
WHAT = "the practice machine, typing in real time"
EXAMPLE = "practice:petrel"
RATE_HZ = 48_000.0
PIECE_S = 0.01
#: characters sent in one go before chance is drawn anew
AT_ONCE = 120
#: a seam lies in the rest between two characters, further from both than the band limit reaches
SEAM_S = 0.005


def unavailable() -> str:
    """It is always there."""
    return ""


def found() -> tuple[str, ...]:
    """Name the machines."""
    return tuple(MACHINES)


class PracticeSource:
    """A machine that types."""

    suspicions: tuple[Suspicion, ...] = ()
    whole_file: Path | None = None

    def __init__(self, asked: Asked) -> None:
        """Choose machine and text.

        Raises:
            WrongUseError: for a machine there is none of, or a text that cannot be sent.
        """
        name = asked.where or "petrel"
        if name not in MACHINES:
            raise WrongUseError(f"--from practice:{name}: there are {', '.join(MACHINES)}.")
        self.rate_hz = asked.rate_hz or RATE_HZ
        self.what = f"practice machine {name.capitalize()}, {self.rate_hz:g} samples a second"
        self._machine = at_unit(MACHINES[name], 1 / asked.baud) if asked.baud else MACHINES[name]
        self._asked, self._closed = asked, False
        try:
            self._codes = encode(asked.text or f"{PANGRAM} ", ITA2)
        except ValueError as reason:
            raise WrongUseError(f"--type: {reason}.") from reason

    def pieces(self) -> Iterator[Piece]:
        """Return 10 ms at a time, each when it would be there."""
        endless = self._endless()
        first = next(endless)
        # the machine is switched on when all is loaded and ready
        begun, given = time.monotonic(), 0
        for samples in chain([first], endless):
            given += samples.size
            ready_at_s = begun + given / self.rate_hz
            if not self._asked.fast:
                time.sleep(max(0.0, ready_at_s - time.monotonic()))
            if self._closed:
                return
            yield SamplePiece(samples, None if self._asked.fast else ready_at_s)

    def close(self) -> None:
        """Stop typing."""
        self._closed = True

    def _endless(self) -> Iterator[np.ndarray[tuple[int], np.dtype[np.int16]]]:
        instrument = Instrument(
            self.rate_hz, mark_v=0.45, space_v=-0.45, threshold_v=0.0, anti_alias=True, bits=16, full_scale_v=1.0
        )
        piece = max(1, round(self.rate_hz * PIECE_S))
        times = max(1, AT_ONCE // len(self._codes))
        motor = self._machine.motor
        phase = float(np.random.default_rng(self._asked.seed).uniform(0, 2 * np.pi))
        for go in count():
            chance = np.random.default_rng([self._asked.seed, go])
            lead_s = 0.3 if go == 0 else SEAM_S
            machine = replace(self._machine, motor=replace(motor, hunt_phase=phase))
            sent = send(self._codes * times, machine, chance, Keying(lead_s=lead_s, tail_s=SEAM_S))
            # the speed swings on where it was: a jump at the seam would look like a faster swing
            phase += 2 * np.pi * motor.hunt_hz * (sent.line.end_s - sent.line.begin_s)
            for volts in record_in_pieces(sent.line, instrument, chance, piece):
                yield np.round(volts * 32768).astype(np.int16)


def open_source(asked: Asked) -> PracticeSource:
    """Open it."""
    return PracticeSource(asked)
