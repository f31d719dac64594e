"""What a reader of a capture file may be told, and how it says which channel it found."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from tapewright.errors import InputError
from tapewright.recordings.edges.blocks import Thresholds
from tapewright.recordings.edges.clock import Clock
from tapewright.recordings.edges.extract import SampleReader

Progress = Callable[[float], None]
#: sample rates that make sense
SLOWEST_HZ, FASTEST_HZ = 0.01, 1e12
#: channels read at once; a file with more must be asked for one of them
MOST_AT_ONCE = 128
#: bytes that any packed file may unpack to, and how many more for each byte it has
ALWAYS_ALLOWED, ALLOWED_A_BYTE = 512 << 20, 30
#: takes a reader of samples, its clock and the names of its channels
Tap = Callable[[SampleReader, Clock, tuple[str, ...]], None]


@dataclass(frozen=True, slots=True)
class Options:
    """What the user said beside the file's name.

    Attributes:
        channel: name, or number from 1 on; None for all.
        rate_hz: samples per second, for files that do not tell.
        threshold: "auto", or (middle,) or (low, high) in the file's own units.
        progress: called with the fraction done.
        tap: takes the samples themselves; then no edges are looked for, and there are no recordings.
    """

    channel: str | None = None
    rate_hz: float | None = None
    threshold: Literal["auto"] | tuple[float, ...] = "auto"
    progress: Progress | None = None
    tap: Tap | None = None

    def thresholds(self) -> Thresholds | None:
        """Return the thresholds the user wants, None for those found from the data."""
        if self.threshold == "auto":
            return None
        low, high = min(self.threshold), max(self.threshold)
        return Thresholds(low, (low + high) / 2, high)


def pick_channels(names: Sequence[str], channel: str | None, source: str) -> list[int]:
    """Return the indices of the channels asked for: all, or the one of this name or number (from 1 on)."""
    if channel is None:
        if len(names) > MOST_AT_ONCE:
            found = f"{len(names)}, beginning with {', '.join(name[:40] for name in names[:5])}"
            do = "Name the channel of the line with --channel."
            raise InputError(source, expected=f"at most {MOST_AT_ONCE} channels at once", found=found, do=do)
        return list(range(len(names)))
    wanted = channel.strip()
    for index, name in enumerate(names):
        if name == wanted:
            return [index]
    alike = [index for index, name in enumerate(names) if name.casefold() == wanted.casefold()]
    if len(alike) == 1:
        return alike
    if wanted.isdecimal() and 1 <= int(wanted) <= len(names):
        return [int(wanted) - 1]
    shown = ", ".join(f"{number} = {name[:40]}" for number, name in enumerate(names[:20], start=1))
    more = f" and {len(names) - 20} more" if len(names) > 20 else ""
    raise InputError(
        source,
        place=f"channel {channel!r}",
        expected=f"one of {shown}{more}",
        found="no such channel",
        do="Name one of these, or its number.",
    )
