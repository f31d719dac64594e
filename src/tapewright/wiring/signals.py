"""Which adapters read and write signals: captures, currents, a drive on paper, a signal of the plan."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tapewright.app.plan_drive import SearchOrder
    from tapewright.app.ports import CaptureFiles
    from tapewright.app.read_coil_current import Reader
    from tapewright.core.alphabets import Alphabet
    from tapewright.core.magnet.plan import Request


def capture_files() -> "CaptureFiles":
    """Give what reads capture files."""
    from tapewright.adapters.capture_files.on_disk import CaptureFilesOnDisk

    return CaptureFilesOnDisk()


def drive_file(
    path: Path | None, options: Mapping[str, Any], *, search: bool
) -> "tuple[Request, SearchOrder | None]":
    """Read a drive file and the options above it into a request, and what to search."""
    from tapewright.adapters.drive_file import order_from, request_from
    from tapewright.adapters.drive_sections import read_sections

    sections = read_sections(path, options)
    return request_from(sections), order_from(sections, search=search)


def coil_current_reader(channel: str | None, rate_hz: float | None) -> "Reader":
    """Give what reads the samples of a recorded current."""
    from functools import partial

    from tapewright.adapters.capture_files.waveform import read_waveform

    return partial(read_waveform, channel=channel, rate_hz=rate_hz)


def planned_signal(pattern_name: str, count: int, alphabet: "Alphabet", baud: float) -> bytes:
    """Give the signal of a test of the plan as a sound file: an ideal sender, mark high."""
    import tempfile

    from tapewright.adapters.capture_writers.formats import FORMATS, write_signal
    from tapewright.app.compose_signal import Sender, compose_signal
    from tapewright.core.simulate.instrument import Instrument
    from tapewright.core.simulate.keying import Keying
    from tapewright.core.simulate.patterns import pattern

    codes = pattern(pattern_name, alphabet, count)
    sound = Instrument(rate_hz=FORMATS[".wav"].RATE_HZ, mark_v=0.45, space_v=-0.45, threshold_v=0.0, anti_alias=True,
                       bits=16, full_scale_v=1.0)  # fmt: skip
    composed = compose_signal(codes, Sender(baud=baud), Keying(), sound, FORMATS[".wav"].CONTENTS[0], 1)
    with tempfile.TemporaryDirectory(prefix="tapewright-") as folder:
        write_signal(path := Path(folder) / "signal.wav", composed, lambda _: None)
        return path.read_bytes()
