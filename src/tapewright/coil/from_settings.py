"""Measure a recorded coil current as the user says."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from tapewright.coil.compare import Change
from tapewright.coil.document import Loop
from tapewright.coil.json import coil_document
from tapewright.coil.read import CoilReading, compare_coil_currents, read_coil_current
from tapewright.errors import WrongUseError
from tapewright.recordings.files.waveform import read_waveform

DEFAULTS: dict[str, Any] = {
    "shunt": None, "supply": None, "series_ohm": 0.0, "scale": 1.0, "rate": None, "channel": None,
}  # fmt: skip
ABOVE_ZERO = ("shunt", "supply", "scale", "rate")


@dataclass(frozen=True, slots=True, eq=False)
class CoilReport:
    """What one recording says, and what is different in a later one when there is one."""

    reading: CoilReading
    compared: Sequence[Change] | None
    other: CoilReading | None


def measure(files: Mapping[str, Path], settings: Mapping[str, Any]) -> CoilReport:
    """Read "current" of the files, and "against" when it is there.

    Raises:
        InputError, WrongUseError: what cannot be read, what makes no sense.
    """
    said = DEFAULTS | dict(settings)
    _sensible(said)
    loop = Loop(said["supply"], said["shunt"], said["series_ohm"])
    reader = partial(read_waveform, channel=said["channel"], rate_hz=said["rate"])
    reading = read_coil_current(files["current"], reader, loop, said["scale"])
    if "against" not in files:
        return CoilReport(reading, None, None)
    other = read_coil_current(files["against"], reader, loop, said["scale"])
    return CoilReport(reading, compare_coil_currents(reading, other), other)


def document(report: CoilReport) -> dict[str, Any]:
    """Return tapewright/coil/1."""
    return coil_document(report.reading, report.compared, report.other)


def _sensible(said: Mapping[str, Any]) -> None:
    for name in ABOVE_ZERO:
        value = said[name]
        if value is not None and not (math.isfinite(value) and value > 0):
            raise WrongUseError(f"--{name}: expected a number above zero; found {value:g}.")
    if not (math.isfinite(said["series_ohm"]) and said["series_ohm"] >= 0):
        raise WrongUseError(f"--series-ohm: expected ohms, not below zero; found {said['series_ohm']:g}.")
