"""Measure a line capture as the user says."""

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

from tapewright.alphabets import ALPHABETS
from tapewright.errors import WrongUseError
from tapewright.furniture.limits_file import read_limits
from tapewright.furniture.record import Progress
from tapewright.furniture.steps import no_progress
from tapewright.line.document import LineSettings
from tapewright.line.read import HowToRead, LineReport, line_document, read_line
from tapewright.line.verdict import CHECKS
from tapewright.message.expected import expected_codes
from tapewright.recordings.files.on_disk import CaptureFilesOnDisk

SLOWEST_BAUD, FASTEST_BAUD = 10.0, 400.0
DEFAULTS: dict[str, Any] = {
    "nominal": "auto", "alphabet": "ita2", "channel": None, "rate": None, "idle": "auto", "threshold": "auto",
    "clock_ppm": 0.0, "expect": None, "window": 0.2, "unshift_on_space": False,
}  # fmt: skip

document = line_document


def measure(
    files: Mapping[str, Path],
    settings: Mapping[str, Any],
    *,
    progress: Progress = no_progress,
    fingerprint: bool = True,
) -> LineReport:
    """Read "capture" of the files, judged by "limits" when there are some.

    Args:
        files: what each is -> where it lies.
        settings: any of `DEFAULTS`.
        progress: takes the fraction done.
        fingerprint: whether the report needs the file's fingerprint.

    Raises:
        InputError, WrongUseError: what cannot be read, what makes no sense.
    """
    said = DEFAULTS | dict(settings)
    how = HowToRead(said["channel"], said["rate"], threshold_of(said["threshold"]))
    settled = line_settings(said, files.get("limits"))
    return read_line(
        files["capture"], how, settled, files=CaptureFilesOnDisk(), progress=progress, fingerprint=fingerprint
    )


def line_settings(said: Mapping[str, Any], limits: Path | None) -> LineSettings:
    """Return what the user says about the signal.

    Raises:
        WrongUseError: for a speed or a text that makes no sense.
    """
    alphabet = ALPHABETS[said["alphabet"]]
    units = {check: unit for check, (unit, _) in CHECKS.items()}
    return LineSettings(
        alphabet=alphabet,
        nominal_baud=nominal_of(said["nominal"]),
        idle=said["idle"],
        clock_ppm=said["clock_ppm"],
        expect=expected_codes(said["expect"], alphabet, unshift_on_space=said["unshift_on_space"]),
        limits=read_limits(limits, units) if limits else (),
        window=said["window"],
        unshift_on_space=said["unshift_on_space"],
    )


def nominal_of(text: str) -> float | None:
    """Return the nominal speed; 45.45 stands for 1000/22 exactly, as the trade means it."""
    if text == "auto":
        return None
    try:
        baud = float(text.replace(",", "."))
    except ValueError:
        baud = math.nan
    if not SLOWEST_BAUD <= baud <= FASTEST_BAUD:
        raise WrongUseError(f"--nominal: expected auto or {SLOWEST_BAUD:g} to {FASTEST_BAUD:g} baud; found {text!r}.")
    return 1000 / 22 if text in ("45.45", "45,45", "45.5", "45") else baud


def threshold_of(text: str) -> Literal["auto"] | tuple[float, ...]:
    """Return the level or levels, or "auto"."""
    if text == "auto":
        return "auto"
    try:
        return tuple(float(part) for part in text.split(","))
    except ValueError:
        raise WrongUseError(f"--threshold: expected auto, LEVEL or LOW,HIGH; found {text!r}.") from None
