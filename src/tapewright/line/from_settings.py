"""Measure a line capture with what a person said about it."""

from collections.abc import Mapping
from pathlib import Path
from typing import Literal

from tapewright.alphabets import ALPHABETS
from tapewright.furniture.limits_file import read_limits
from tapewright.furniture.record import Progress
from tapewright.furniture.settings import from_keywords, from_steps, settings_in
from tapewright.furniture.steps import no_progress
from tapewright.line.document import LineSettings
from tapewright.line.frames import ELEMENTS
from tapewright.line.read import HowToRead, LineReport, line_document, read_line
from tapewright.line.settings import ReadSettings
from tapewright.line.verdict import CHECKS
from tapewright.message.expected import expected_codes
from tapewright.recordings.files.on_disk import CaptureFilesOnDisk

DEFAULTS: dict[str, object] = {each.key: each.default for each in settings_in(ReadSettings)}

document = line_document


def measure(
    files: Mapping[str, Path],
    settings: ReadSettings | Mapping[str, object],
    *,
    progress: Progress = no_progress,
    fingerprint: bool = True,
) -> LineReport:
    """Read "capture" of the files, judged by "limits" when there are some.

    Args:
        files: what each is -> where it lies.
        settings: the settings, or what the book kept of them.
        progress: takes the fraction done.
        fingerprint: whether the report needs the file's fingerprint.

    Raises:
        InputError, WrongUseError: what cannot be read, what makes no sense.
    """
    if not isinstance(settings, ReadSettings):
        settings = from_steps(ReadSettings, settings)
    return read_line(
        files["capture"],
        HowToRead(settings.channel, settings.rate, settings.threshold or "auto"),
        signal_settings(settings, files.get("limits")),
        files=CaptureFilesOnDisk(),
        progress=progress,
        fingerprint=fingerprint,
    )


def signal_settings(settings: ReadSettings, limits: Path | None) -> LineSettings:
    """Return what is said about the signal, as the measuring takes it.

    Raises:
        InputError, WrongUseError: for limits or a text that make no sense.
    """
    alphabet, unshift = ALPHABETS[settings.alphabet], settings.unshift_on_space
    units = {check: unit for check, (unit, _) in CHECKS.items()}
    return LineSettings(
        alphabet=alphabet,
        nominal_baud=settings.nominal,
        idle=settings.idle,
        clock_ppm=settings.clock_ppm,
        expect=expected_codes(settings.expect, alphabet, unshift_on_space=unshift)
        if settings.elements == ELEMENTS
        else None,
        limits=read_limits(limits, units) if limits else (),
        window=settings.window,
        unshift_on_space=unshift,
        elements=settings.elements,
    )


def line_settings(given: Mapping[str, object], limits: Path | None) -> LineSettings:
    """Return the same of what a watch or a soak was given among other things.

    Raises:
        InputError, WrongUseError: for a speed, limits or a text that make no sense.
    """
    mine = {name: given[name] for name in DEFAULTS if name in given}
    return signal_settings(from_keywords(ReadSettings, **mine), limits)


def threshold_of(text: str) -> Literal["auto"] | tuple[float, ...]:
    """Return the level or levels, or "auto".

    Raises:
        WrongUseError: for anything else.
    """
    return from_keywords(ReadSettings, threshold=text).threshold or "auto"
