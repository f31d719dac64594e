"""Read a line capture: file > recordings > the channel with the signal > what it says."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from tapewright.errors import InputError
from tapewright.furniture.document import to_builtins
from tapewright.furniture.record import Progress
from tapewright.line.document import Line, LineResult, LineSettings, Source
from tapewright.line.measure import measure_line
from tapewright.line.speed_proof import SENDERS
from tapewright.message.document import errors
from tapewright.recordings.capture import BEFORE_A_WIRE, Recording
from tapewright.recordings.files.on_disk import CaptureFiles


@dataclass(frozen=True, slots=True)
class HowToRead:
    """What the user says about the file.

    Attributes:
        channel: name or number of the channel; None to take the one that holds characters.
        rate_hz: samples per second where the file does not tell.
        threshold: "auto", or the level or levels in the file's own units.
    """

    channel: str | None = None
    rate_hz: float | None = None
    threshold: Literal["auto"] | tuple[float, ...] = "auto"


@dataclass(frozen=True, slots=True, eq=False)
class LineReport:
    """A result with the file it came from.

    Attributes:
        file: the file's name.
        sha256: fingerprint of its bytes; None when it was not asked for.
        recording: the channel that was measured.
        result: what it says.
        other_channels: channels that hold characters too.
    """

    file: str
    sha256: str | None
    recording: Recording
    result: LineResult
    other_channels: tuple[str, ...]

    def document(self) -> Line:
        """Return what the capture says as the contract's document."""
        result, recording = self.result, self.recording
        return Line(
            source=Source(
                file=self.file,
                sha256=self.sha256,
                kind=recording.kind,
                channel=recording.channel,
                channels=recording.channels,
                other_channels_with_characters=self.other_channels,
                duration_s=recording.edges.end_s - recording.edges.begin_s,
                samples=recording.samples,
                rate_hz=recording.rate_hz,
                clock_ppm=result.settings.clock_ppm,
                threshold_v=recording.threshold_v,
                idle=result.idle,
                edges=int(recording.edges.times_s.size),
            ),
            speed=result.speed,
            text=result.text,
            codes=result.codes,
            characters=result.characters,
            distortion=result.distortion,
            contacts=result.contacts,
            covariance=result.covariance,
            receiver=result.receiver,
            errors=errors(result.errors) if result.errors is not None else None,
            cautions=(BEFORE_A_WIRE,) if result.suspicions else (),
            instrument=result.suspicions,
            findings=result.findings,
            verdicts=result.verdicts,
            notes=result.notes,
        )


def line_document(report: LineReport) -> dict[str, object]:
    """Return the document of a report as dictionaries and lists."""
    document: dict[str, object] = to_builtins(report.document())
    return document


def read_line(
    path: Path,
    how: HowToRead,
    settings: LineSettings,
    *,
    files: CaptureFiles,
    progress: Progress,
    fingerprint: bool = True,
) -> LineReport:
    """Measure one capture; with several channels, the one that holds most characters.

    Args:
        path: the capture.
        how: what the user says about the file.
        settings: what the user says about the signal.
        files: reads captures.
        progress: takes the fraction done.
        fingerprint: whether the report needs the fingerprint of the file; it takes longer than all the rest.

    Raises:
        InputError: when the file cannot be read.
    """
    with ThreadPoolExecutor(max_workers=1) as beside:
        sha256 = beside.submit(files.sha256, path) if fingerprint else None
        recordings = files.recordings(
            path, channel=how.channel, rate_hz=how.rate_hz, threshold=how.threshold, progress=progress
        )
        measured = [(recording, measure_line(recording.edges, settings)) for recording in recordings]
        recording, result = max(measured, key=lambda pair: (pair[1].speed.proven, len(pair[1].codes)))
        others = tuple(r.channel for r, said in measured if r is not recording and said.codes)
        if result.other:
            raise InputError(
                path.name,
                expected="a start-stop signal of five elements",
                found=result.other,
                do="Cut the recording there and read each part alone."
                if result.other.startswith(SENDERS)
                else "Look whether this is the wire that was meant; other counts of elements are read with --elements.",
            )
        return LineReport(path.name, sha256.result() if sha256 else None, recording, result, others)
