"""Measure a recorded coil current, and a later one to compare, with the settings of `drive read`."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from tapewright.coil.coil_recording import jumps_between_levels
from tapewright.coil.compare import changes
from tapewright.coil.document import Comparison
from tapewright.coil.measure import CurrentRead, Loop, read_current
from tapewright.coil.settings import CurrentSettings
from tapewright.errors import InputError
from tapewright.furniture.document import to_builtins
from tapewright.furniture.settings import from_steps
from tapewright.recordings.files.on_disk import sha256
from tapewright.recordings.files.waveform import read_waveform


@dataclass(frozen=True, slots=True, eq=False)
class CoilReport:
    """What one recording says, with what is different in a later one; and that one, when there is one."""

    read: CurrentRead
    other: CurrentRead | None = None


def measure(files: Mapping[str, Path], settings: CurrentSettings | Mapping[str, Any]) -> CoilReport:
    """Read "current" of the files, and "against" when it is there.

    Raises:
        InputError: what cannot be read.
    """
    told = settings if isinstance(settings, CurrentSettings) else from_steps(CurrentSettings, settings)
    read = _read(files["current"], told)
    if "against" not in files:
        return CoilReport(read)
    other = _read(files["against"], told)
    compared = Comparison(with_=files["against"].name, changes=changes(read.coil, other.coil))
    return CoilReport(CurrentRead(read.prepared, replace(read.coil, comparison=compared)), other)


def document(report: CoilReport) -> dict[str, Any]:
    """Return tapewright/coil/1."""
    found: dict[str, Any] = to_builtins(report.read.coil)
    return found


def _read(path: Path, settings: CurrentSettings) -> CurrentRead:
    samples = read_waveform(path, channel=settings.channel, rate_hz=settings.rate)
    if jumps_between_levels(samples.values, samples.rate_hz):
        raise InputError(
            path.name, expected="the current of a coil, which takes time to rise",
            found="a signal that jumps between two levels within a sample: a line signal, a voltage, or a current "
            "sampled too slowly", do="Record the current across a shunt, at 20 samples a time constant or more.",
        )  # fmt: skip
    loop = Loop(settings.supply, settings.shunt, settings.series_ohm)
    read = read_current(samples.values * settings.scale, samples.rate_hz, loop)
    source = replace(read.coil.source, file=path.name, sha256=sha256(path), channel=samples.channel)
    return CurrentRead(read.prepared, replace(read.coil, source=source))
