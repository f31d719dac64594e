"""A signal of the test plan as a sound file."""

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tapewright.alphabets import Alphabet


def planned_signal(pattern_name: str, count: int, alphabet: "Alphabet", baud: float) -> bytes:
    """Return the signal of a test of the plan as a sound file: an ideal sender, mark high."""
    import tempfile

    from tapewright.message.test_texts import pattern
    from tapewright.practice.instrument import Instrument
    from tapewright.practice.keying import Keying
    from tapewright.sender.compose import Sender, compose_signal
    from tapewright.sender.files.formats import FORMATS, write_signal

    codes = pattern(pattern_name, alphabet, count)
    sound = Instrument(rate_hz=FORMATS[".wav"].RATE_HZ, mark_v=0.45, space_v=-0.45, threshold_v=0.0, anti_alias=True,
                       bits=16, full_scale_v=1.0)  # fmt: skip
    composed = compose_signal(codes, Sender(baud=baud), Keying(), sound, FORMATS[".wav"].CONTENTS[0], 1)
    with tempfile.TemporaryDirectory(prefix="tapewright-") as folder:
        write_signal(path := Path(folder) / "signal.wav", composed, lambda _: None)
        return path.read_bytes()
